//! The crimp table and the torque table: for the bench, one row for each kind of end, and for the wrench, one for each stud.
//! Never: lists single ends (see `made_ends.rs`); chooses a value, each is that of the ends.
//! Start at [`crimp_table`] and [`torque_table`].

use std::collections::BTreeMap;

use model::parts::Stud;
use quantity::{Gauge, NewtonMetres};
use reference::Provenance;

use crate::ends::FittingKind;
use crate::made_ends::EndRow;
use crate::table::{Table, numbers, words};

/// A pound-force inch in newton metres: 0.45359237 kg · 9.80665 m/s² · 0.0254 m, exact by definition.
const POUND_INCH: f64 = 0.453_592_37 * 9.806_65 * 0.0254;

fn sources_line(sources: impl Iterator<Item = (&'static str, Provenance)>) -> String {
    let shown: Vec<String> = sources.map(|(key, how)| format!("{key} ({how})")).collect();
    shown.join(", ")
}

/// One row for each kind of end that is crimped or cut: how it is made and how many there are.
pub fn crimp_table(ends: &[EndRow]) -> Table {
    let columns = vec![
        words("end", "End", 28.0),
        words("size", "Size", 11.0),
        words("part", "Part", 24.0),
        numbers("count", "Ends", "", 0, 8.0).summed(),
        numbers("strip_mm", "Strip", "mm", 0, 8.0),
        words("shrink", "Heat-shrink", 10.0),
        numbers("shrink_mm", "Heat-shrink, length", "mm", 0, 11.0),
        words("check", "Check", 44.0),
        words("source", "Source", 34.0),
    ];
    type Key<'e> = (FittingKind, Gauge, &'e str, Option<&'e str>);
    let mut kinds: BTreeMap<Key<'_>, Vec<&EndRow>> = BTreeMap::new();
    for end in ends {
        let key = (end.kind, end.gauge, end.what.as_str(), end.part.as_deref());
        kinds.entry(key).or_default().push(end);
    }
    let mut table = Table::new("crimps", "Crimps", columns);
    for ((kind, gauge, what, part), alike) in kinds {
        // The shrink of a size may differ with the cable; each length is a row of its own.
        let mut made: BTreeMap<(Option<&str>, i64), Vec<&EndRow>> = BTreeMap::new();
        for end in alike {
            let shrink = end.shrink.as_ref();
            let length = shrink.map_or(0, |shrink| (shrink.length.get() * 1000.0).round() as i64);
            made.entry((shrink.map(|shrink| shrink.size.as_str()), length)).or_default().push(end);
        }
        for alike in made.values() {
            let Some(first) = alike.first() else { continue };
            // The torque of its stud stands in the other table.
            let own = first.sources.iter().filter(|source| Some(**source) != first.torque_source);
            table.push(vec![
                what.into(),
                gauge.brief().into(),
                part.unwrap_or_default().into(),
                u32::try_from(alike.len()).unwrap_or(u32::MAX).into(),
                first.strip.map(|strip| strip.get() * 1000.0).into(),
                first.shrink.as_ref().map(|shrink| shrink.size.clone()).unwrap_or_default().into(),
                first.shrink.as_ref().map(|shrink| shrink.length.get() * 1000.0).into(),
                check(kind).into(),
                sources_line(own.copied()).into(),
            ]);
        }
    }
    table
}

/// What is looked at before the end is used. Common practice, no source.
fn check(kind: FittingKind) -> &'static str {
    match kind {
        FittingKind::Lug | FittingKind::BondLug => {
            "pull by hand; no strand outside the barrel; shrink after the crimp"
        }
        FittingKind::Ferrule => "pull by hand; strands reach the end of the sleeve",
        FittingKind::ArrayConnector => "both halves of one make; it clicks and does not come apart by hand",
        FittingKind::Bare => "no strand outside the clamp",
    }
}

/// One row for each size of stud, with the values and what is turned there.
pub fn torque_table(ends: &[EndRow]) -> Table {
    let columns = vec![
        words("stud", "Stud", 10.0),
        numbers("count", "Ends", "", 0, 8.0).summed(),
        words("largest_lug", "Largest lug", 12.0),
        numbers("torque_least_nm", "Torque, least", "N·m", 1, 9.0),
        numbers("torque_nm", "Torque, aim", "N·m", 1, 9.0),
        numbers("torque_most_nm", "Torque, most", "N·m", 1, 9.0),
        numbers("torque_lbf_in", "Torque, aim", "lbf·in", 0, 9.0),
        words("terminals", "Where", 60.0),
        words("source", "Source", 34.0),
    ];
    let mut studs: BTreeMap<Stud, Vec<&EndRow>> = BTreeMap::new();
    for end in ends {
        if let Some(stud) = end.stud {
            studs.entry(stud).or_default().push(end);
        }
    }
    let mut table = Table::new("torque", "Torque", columns);
    for (stud, ends) in studs {
        let torque = ends.iter().find_map(|end| end.torque);
        let newton_metres = |value: Option<NewtonMetres>| value.map(|value| value.get());
        let aim = newton_metres(torque.map(|torque| torque.1));
        let mut terminals: Vec<String> =
            ends.iter().map(|end| format!("{}.{}", end.device, end.terminal)).collect();
        // Lugs on one stud are tightened together.
        terminals.sort_unstable();
        terminals.dedup();
        let mut sources: Vec<_> = ends.iter().filter_map(|end| end.torque_source).collect();
        sources.sort_unstable();
        sources.dedup();
        table.push(vec![
            stud.to_string().into(),
            u32::try_from(ends.len()).unwrap_or(u32::MAX).into(),
            ends.iter().map(|end| end.gauge).max().map(|gauge| gauge.brief()).unwrap_or_default().into(),
            newton_metres(torque.map(|torque| torque.0)).into(),
            aim.into(),
            newton_metres(torque.map(|torque| torque.2)).into(),
            aim.map(|aim| aim / POUND_INCH).into(),
            terminals.join(", ").into(),
            sources_line(sources.into_iter()).into(),
        ]);
    }
    table
}
