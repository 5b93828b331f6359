//! Two projects side by side.
//! Never: compares a number itself; [`pack::compare`] does.
//! Start at [`compare`].

use pack::YearRow;
use quantity::WattHours;

use super::{findings, papers, rounded};
use crate::{Stand, wire};

/// What they share and what differs.
pub fn compare(left: &Stand, right: &Stand) -> wire::Comparison {
    let compared = pack::compare(&papers::inputs(left, &[]), &papers::inputs(right, &[]));
    let mut parts: Vec<wire::Pair> = compared
        .parts
        .iter()
        .map(|part| {
            let count = |count: f64| {
                if count == 0.0 { String::new() } else { format!("{} {}", rounded(count, 1), part.counted) }
            };
            wire::Pair {
                what: part.title.clone(),
                left: count(part.left),
                right: count(part.right),
                difference: signed(part.right - part.left),
                differs: part.left != part.right,
            }
        })
        .collect();
    // Those that differ first; else in their order.
    parts.sort_by_key(|pair| !pair.differs);
    wire::Comparison {
        left: compared.left.clone(),
        right: compared.right.clone(),
        figures: compared
            .figures
            .iter()
            .map(|figure| wire::Pair {
                what: figure.title.clone(),
                left: figure.left.clone().unwrap_or_default(),
                right: figure.right.clone().unwrap_or_default(),
                difference: figure.difference.clone().unwrap_or_default(),
                differs: !figure.same,
            })
            .collect(),
        parts,
        months: compared
            .months
            .iter()
            .map(|month| wire::MonthPair {
                month: month.month.clone(),
                asked_kwh: (kwh(month.left.asked), kwh(month.right.asked)),
                came_in_kwh: (came_in(&month.left), came_in(&month.right)),
                short_kwh: (kwh(month.left.short), kwh(month.right.short)),
                lowest: (rounded(month.left.lowest.get(), 3), rounded(month.right.lowest.get(), 3)),
            })
            .collect(),
        only_left: lines(&compared.findings_left),
        only_right: lines(&compared.findings_right),
        both: lines(&compared.findings_both),
        intent: model::differences(&left.project.source.text, &right.project.source.text)
            .into_iter()
            .map(|difference| wire::Pair {
                what: difference.path,
                left: difference.left.unwrap_or_default(),
                right: difference.right.unwrap_or_default(),
                difference: String::new(),
                differs: true,
            })
            .collect(),
    }
}

fn kwh(energy: WattHours) -> f64 {
    rounded(energy.get() / 1000.0, 3)
}

fn came_in(month: &YearRow) -> f64 {
    kwh(month.sun + month.engine + month.shore + month.generator)
}

fn signed(count: f64) -> String {
    let count = rounded(count, 1);
    if count == 0.0 { String::new() } else { format!("{count:+}") }
}

fn lines(list: &[pack::FindingLine]) -> Vec<wire::FindingLine> {
    list.iter()
        .map(|line| wire::FindingLine {
            severity: findings::severity(line.severity),
            rule: line.rule.clone(),
            place: line.place.clone(),
            message: line.message.clone(),
        })
        .collect()
}
