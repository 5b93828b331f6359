//! Two projects or two states of one, side by side: figures, parts, findings, energy by month.
//! Never: says which is better, derives or studies anything.
//! Start at [`compare`].

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Sub;

use model::Spec;
use quantity::{AmpHours, Amps, Hours, Kilograms, Money, Volts, WattHours, WattHoursPerDay, Watts};
use rules::{Finding, Severity};
use serde::Serialize;

use crate::summary::Summary;
use crate::{Inputs, PartRow, YearRow};

/// Two systems side by side.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Comparison {
    /// Name of the left project.
    pub left: String,
    /// Name of the right one.
    pub right: String,
    /// The figures, those that matter most first.
    pub figures: Vec<Figure>,
    /// Parts that differ in number, and those that do not, by kind and title.
    pub parts: Vec<PartPair>,
    /// Findings of the left that the right has not, the worst first.
    pub findings_left: Vec<FindingLine>,
    /// Findings of the right that the left has not.
    pub findings_right: Vec<FindingLine>,
    /// Findings of both.
    pub findings_both: Vec<FindingLine>,
    /// Energy by month; empty unless both were studied.
    pub months: Vec<MonthPair>,
}

/// One figure of both.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figure {
    /// Its key for programs: `price-low`.
    pub key: String,
    /// What it is.
    pub title: String,
    /// Of the left, shown; `None` where it has none.
    pub left: Option<String>,
    /// Of the right.
    pub right: Option<String>,
    /// Right less left, shown with its sign; `None` where one is missing or it is no number.
    pub difference: Option<String>,
    /// The same as a number in the base unit of the quantity (A, Ah, Wh, kg, h, V, W, money, share).
    pub difference_number: Option<f64>,
    /// Whether both are the same.
    pub same: bool,
}

/// How many of a part each has.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartPair {
    /// Kind of part.
    pub kind: String,
    /// What it is.
    pub title: String,
    /// What the quantities count.
    pub counted: String,
    /// Of the left, spares in it.
    pub left: f64,
    /// Of the right.
    pub right: f64,
}

/// A finding in short.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct FindingLine {
    /// How bad it is.
    pub severity: Severity,
    /// The rule.
    pub rule: String,
    /// The place.
    pub place: String,
    /// What is wrong; of a finding of both, as the left has it.
    pub message: String,
}

/// A month of both.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MonthPair {
    /// The month.
    pub month: String,
    /// Of the left.
    pub left: YearRow,
    /// Of the right.
    pub right: YearRow,
}

/// Puts two systems side by side. Comparing a system with itself gives no difference.
pub fn compare(left: &Inputs<'_>, right: &Inputs<'_>) -> Comparison {
    let (one, other) = (Summary::of(left), Summary::of(right));
    let (findings_left, findings_right, findings_both) = findings(left.findings, right.findings);
    let months = match (&one.study, &other.study) {
        (Some(one), Some(other)) => one
            .months
            .iter()
            .zip(&other.months)
            .map(|(left, right)| MonthPair {
                month: left.month.clone(),
                left: left.clone(),
                right: right.clone(),
            })
            .collect(),
        _ => Vec::new(),
    };
    Comparison {
        left: one.name.clone(),
        right: other.name.clone(),
        figures: figures(&Side { inputs: left, summary: &one }, &Side { inputs: right, summary: &other }),
        parts: parts(&one, &other),
        findings_left,
        findings_right,
        findings_both,
        months,
    }
}

/// One side, with its look-ups.
struct Side<'s> {
    inputs: &'s Inputs<'s>,
    summary: &'s Summary,
}

impl Side<'_> {
    fn bank(&self) -> Option<String> {
        let bank = self.summary.bank.as_ref()?;
        Some(format!("{} in series, {} in parallel of {}", bank.series, bank.parallel, bank.battery))
    }
    fn array_power(&self) -> Watts {
        let power = |spec: &Spec| match spec {
            Spec::Array(array) => array.module.power * f64::from(array.series.saturating_mul(array.parallel)),
            _ => Watts::zero(),
        };
        self.inputs.system.devices.iter().map(|device| power(&device.spec)).fold(Watts::zero(), |a, b| a + b)
    }
    fn inverter_power(&self) -> Option<Watts> {
        self.summary.inverters.iter().map(|inverter| inverter.power).reduce(|a, b| a + b)
    }
    fn inverters(&self) -> Option<String> {
        let titles: Vec<&str> =
            self.summary.inverters.iter().map(|inverter| inverter.title.as_str()).collect();
        (!titles.is_empty()).then(|| titles.join(", "))
    }
    /// Lowest voltage at a load of the bank's own voltage in any scene, with the load's id.
    fn lowest_voltage(&self) -> Option<(Volts, String)> {
        let system = self.inputs.system;
        let mut lowest: Option<(Volts, String)> = None;
        for scene in &self.inputs.results.scenes {
            for (ix, device) in system.devices.iter().enumerate() {
                let Spec::Load(load) = &device.spec else { continue };
                if load.supply != model::parts::Supply::Dc || load.voltage != system.voltage {
                    continue;
                }
                if scene.dead.contains(&ix) || scene.collapsed.contains(&ix) {
                    continue;
                }
                let end = |name: &str| {
                    let terminal = device.terminals.iter().position(|terminal| terminal.name == name)?;
                    *scene.volts.get(ix)?.get(terminal)?
                };
                if let (Some(plus), Some(minus)) = (end("positive"), end("negative"))
                    && lowest.as_ref().is_none_or(|known| plus - minus < known.0)
                {
                    lowest = Some((plus - minus, device.id.clone()));
                }
            }
        }
        lowest
    }
    fn count(&self, severity: Severity) -> f64 {
        self.inputs.findings.iter().filter(|finding| finding.severity == severity).count() as f64
    }
}

/// A quantity that can be put side by side.
trait Comparable: Copy + Default + PartialEq + std::fmt::Display + Sub<Output = Self> {
    /// The number in the unit of the type.
    fn number(self) -> f64;
}

macro_rules! comparable {
    ($($name:ty),*) => { $(impl Comparable for $name { fn number(self) -> f64 { self.get() } })* };
}
comparable!(AmpHours, Amps, Hours, Kilograms, Money, Volts, WattHours, WattHoursPerDay, Watts);

/// A number without unit, such as a count.
#[derive(Clone, Copy, Default, PartialEq)]
struct Plain(f64);

impl std::fmt::Display for Plain {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0)
    }
}
impl Sub for Plain {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}
impl Comparable for Plain {
    fn number(self) -> f64 {
        self.0
    }
}

/// A share, shown as percent to a tenth; its difference is in percentage points.
#[derive(Clone, Copy, Default, PartialEq)]
struct Percent(f64);

impl std::fmt::Display for Percent {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} %", (self.0 * 1000.0).round() / 10.0)
    }
}
impl Sub for Percent {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}
impl Comparable for Percent {
    fn number(self) -> f64 {
        self.0
    }
}

/// Share of a figure below which a difference is noise of the last digits.
const CLOSE: f64 = 1e-6;

fn number<Q: Comparable>(key: &str, title: &str, left: Option<Q>, right: Option<Q>) -> Figure {
    let is_close = |left: Q, right: Q| {
        (right - left).number().abs() <= CLOSE * left.number().abs().max(right.number().abs())
    };
    let same = left == right || left.zip(right).is_some_and(|(left, right)| is_close(left, right));
    let difference = left.zip(right).map(|(left, right)| if same { Q::default() } else { right - left });
    let shown = difference.map(|difference| {
        if difference.number() > 0.0 { format!("+{difference}") } else { difference.to_string() }
    });
    Figure {
        key: key.to_owned(),
        title: title.to_owned(),
        left: left.map(|value| value.to_string()),
        right: right.map(|value| value.to_string()),
        difference: shown,
        difference_number: difference.map(Comparable::number),
        same,
    }
}

fn words(key: &str, title: &str, left: Option<String>, right: Option<String>) -> Figure {
    let same = left == right;
    Figure {
        key: key.to_owned(),
        title: title.to_owned(),
        left,
        right,
        difference: None,
        difference_number: None,
        same,
    }
}

fn figures(left: &Side<'_>, right: &Side<'_>) -> Vec<Figure> {
    let both = [left, right];
    let [one, other] = both.map(|side| side.summary);
    let bank = |of: fn(&crate::BankSummary) -> AmpHours| both.map(|side| side.summary.bank.as_ref().map(of));
    let [left_capacity, right_capacity] = bank(|bank| bank.capacity);
    let usable = both.map(|side| side.summary.bank.as_ref().map(|bank| bank.usable));
    let price = |end: fn(&(Money, Money)) -> Money| both.map(|side| side.summary.price.as_ref().map(end));
    let [left_low, right_low] = price(|price| price.0);
    let [left_high, right_high] = price(|price| price.1);
    let plan = both.map(|side| &side.summary.energy);
    let study = both.map(|side| side.inputs.study);
    let autonomy = study.map(|study| study.and_then(|study| study.autonomy));
    let running_out = study.map(|study| study.map(|study| Percent(study.years.running_out.share.get())));
    let lowest = study.map(|study| study.map(|study| Percent(study.year.lowest.0)));
    let short = study.map(|study| study.map(|study| WattHours::new(study.year.total.short_wh)));
    let life =
        study.map(|study| study.map(|study| Plain((study.year.bank_life.years * 10.0).round() / 10.0)));
    let need = |of: fn(&model::EnergyPlan) -> WattHoursPerDay| plan.map(|plan| Some(of(plan)));
    let [left_summer, right_summer] = need(|plan| plan.need_summer);
    let [left_winter, right_winter] = need(|plan| plan.need_winter);
    let volts = both.map(Side::lowest_voltage);
    let at = |side: usize| volts[side].as_ref().map(|(_, load)| load.clone());
    let count = |severity| both.map(|side| Some(Plain(side.count(severity))));
    let [left_danger, right_danger] = count(Severity::Danger);
    let [left_warning, right_warning] = count(Severity::Warning);
    let [left_advice, right_advice] = count(Severity::Advice);
    vec![
        words("refused", "Refused", refused(one), refused(other)),
        words("voltage", "Voltage", Some(one.voltage.to_string()), Some(other.voltage.to_string())),
        words("rules", "Rule set", Some(one.rules.to_string()), Some(other.rules.to_string())),
        number("price-low", "Price, lowest", left_low, right_low),
        number("price-high", "Price, highest", left_high, right_high),
        number("mass", "Mass", one.mass, other.mass),
        words("bank", "Bank", left.bank(), right.bank()),
        number("bank-capacity", "Bank, capacity", left_capacity, right_capacity),
        number("bank-usable", "Bank, usable energy", usable[0], usable[1]),
        number("array-power", "Arrays, rated power", Some(left.array_power()), Some(right.array_power())),
        words("inverter", "Inverter", left.inverters(), right.inverters()),
        number("inverter-power", "Inverter, continuous power", left.inverter_power(), right.inverter_power()),
        number("need-summer", "Need on a summer day", left_summer, right_summer),
        number("need-winter", "Need on a winter day", left_winter, right_winter),
        number("autonomy", "Without charging, in the hardest month", autonomy[0], autonomy[1]),
        number("running-out", "Chance of running out in a year", running_out[0], running_out[1]),
        number("lowest-charge", "Lowest charge in a usual year", lowest[0], lowest[1]),
        number("short", "Short in a usual year", short[0], short[1]),
        number("bank-life", "Bank lasts, years", life[0], life[1]),
        number(
            "lowest-voltage",
            "Lowest voltage at a load",
            volts[0].as_ref().map(|(volts, _)| *volts),
            volts[1].as_ref().map(|(volts, _)| *volts),
        ),
        words("lowest-voltage-at", "Load with the lowest voltage", at(0), at(1)),
        number("dangers", "Dangers", left_danger, right_danger),
        number("warnings", "Warnings", left_warning, right_warning),
        number("advice", "Advice", left_advice, right_advice),
    ]
}

fn refused(summary: &Summary) -> Option<String> {
    Some(if summary.refusals.is_empty() { "no" } else { "yes" }.to_owned())
}

fn parts(left: &Summary, right: &Summary) -> Vec<PartPair> {
    let mut pairs: BTreeMap<(String, String, String), (f64, f64)> = BTreeMap::new();
    let rows = |summary: &Summary| -> Vec<PartRow> {
        summary.schedules.as_ref().map(|schedules| schedules.parts.rows.clone()).unwrap_or_default()
    };
    let key = |row: &PartRow| (row.kind.clone(), row.title.clone(), row.counted.word().to_owned());
    for row in rows(left) {
        pairs.entry(key(&row)).or_default().0 += row.quantity;
    }
    for row in rows(right) {
        pairs.entry(key(&row)).or_default().1 += row.quantity;
    }
    pairs
        .into_iter()
        .map(|((kind, title, counted), (left, right))| PartPair { kind, title, counted, left, right })
        .collect()
}

/// Findings of the left only, of the right only, of both; a finding is known by its rule and place.
fn findings(left: &[Finding], right: &[Finding]) -> (Vec<FindingLine>, Vec<FindingLine>, Vec<FindingLine>) {
    let keys = |findings: &[Finding]| -> BTreeSet<(&'static str, String)> {
        findings.iter().map(|finding| (finding.rule, finding.place.clone())).collect()
    };
    let (in_left, in_right) = (keys(left), keys(right));
    let line = |finding: &Finding| FindingLine {
        severity: finding.severity,
        rule: finding.rule.to_owned(),
        place: finding.place.clone(),
        message: finding.message.clone(),
    };
    let of = |findings: &[Finding], other: &BTreeSet<(&'static str, String)>, is_in: bool| {
        let mut lines: Vec<FindingLine> = findings
            .iter()
            .filter(|finding| other.contains(&(finding.rule, finding.place.clone())) == is_in)
            .map(line)
            .collect();
        lines.sort();
        lines
    };
    (of(left, &in_right, false), of(right, &in_left, false), of(left, &in_right, true))
}
