//! Which unanswered questions matter most: each assumption is tried at both ends of its plausible range.
//! Never: changes the project; it derives copies.
//! Start at [`questions`].

use model::{Assumption, Edit, Project, Spec, System};
use quantity::{Money, Written};
use serde::Serialize;

/// An assumption whose answer would change the result.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Question {
    /// Path in intent.toml where to answer.
    pub path: String,
    /// The value taken.
    pub assumed: String,
    /// Why it was taken.
    pub why: String,
    /// Ends of the plausible range and what comes of each.
    pub low: Tried,
    /// See `low`.
    pub high: Tried,
    /// How much hangs on it: larger is more.
    pub weight: f64,
}

/// A value and what the system would be with it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tried {
    /// The value.
    pub value: String,
    /// Bank, main conductor, inverter, days without charging, price: what differs from now.
    pub result: String,
}

/// Assumptions tried at most: each costs two derivations.
const MOST_TRIED: usize = 40;

/// The questions with the largest effect, at most `count`.
pub fn questions(project: &Project, system: &System, count: usize) -> Vec<Question> {
    let now = Facts::of(system);
    let mut candidates: Vec<&Assumption> =
        system.assumptions.iter().filter(|assumption| assumption.plausible.is_some()).collect();
    candidates.sort_by(|a, b| b.must_answer.cmp(&a.must_answer).then_with(|| a.path.cmp(&b.path)));
    candidates.truncate(MOST_TRIED);
    let mut found: Vec<Question> = candidates
        .into_iter()
        .filter_map(|assumption| {
            let (low, high) = assumption.plausible.as_ref()?;
            let low = tried(project, &now, &assumption.path, low)?;
            let high = tried(project, &now, &assumption.path, high)?;
            let weight = low.1.max(high.1);
            (weight > 0.0).then(|| Question {
                path: assumption.path.clone(),
                assumed: assumption.value.clone(),
                why: assumption.why.clone(),
                low: low.0,
                high: high.0,
                weight,
            })
        })
        .collect();
    found.sort_by(|a, b| b.weight.total_cmp(&a.weight).then_with(|| a.path.cmp(&b.path)));
    found.truncate(count);
    found
}

fn tried(project: &Project, now: &Facts, path: &str, value: &str) -> Option<(Tried, f64)> {
    let changed = project.with_edits(&[Edit::set(path, value)]).ok()?;
    let facts = Facts::of(&crate::derive(&changed));
    let (result, weight) = now.against(&facts);
    Some((Tried { value: value.to_owned(), result }, weight))
}

/// What a person would notice.
struct Facts {
    bank: String,
    inverter: String,
    main: String,
    price: Money,
    autonomy_days: f64,
    refused: usize,
    gaps: usize,
    sizes: Vec<(String, String)>,
}

impl Facts {
    fn of(system: &System) -> Self {
        let gauge = |id: &str| {
            system
                .conductors
                .iter()
                .find(|c| c.id == id)
                .map_or("none".to_owned(), |conductor| conductor.gauge.show())
        };
        let inverter = system.devices.iter().find_map(|device| match &device.spec {
            Spec::Inverter(inverter, _) => Some(inverter.title.clone()),
            _ => None,
        });
        let bank =
            system.bank.as_ref().map_or("no bank".to_owned(), |bank| format!("bank {}", bank.capacity));
        let price = system.devices.iter().map(|device| (device.price.0 + device.price.1) / 2.0).sum();
        let sizes = system
            .conductors
            .iter()
            .filter(|conductor| !conductor.is_internal)
            .map(|conductor| (conductor.id.clone(), conductor.gauge.show()))
            .collect();
        Self {
            bank,
            inverter: inverter.unwrap_or_else(|| "no inverter".to_owned()),
            main: format!("main conductor {}", gauge("main.positive")),
            price,
            autonomy_days: system.energy.autonomy.get() / 24.0,
            refused: system.refusals.len(),
            gaps: system.gaps.len(),
            sizes,
        }
    }

    /// What differs in `other`, and how much it weighs.
    fn against(&self, other: &Self) -> (String, f64) {
        let mut differs = Vec::new();
        let mut weight = 0.0;
        for (now, then) in
            [(&self.bank, &other.bank), (&self.inverter, &other.inverter), (&self.main, &other.main)]
        {
            if now != then {
                differs.push(then.clone());
                weight += 1.0;
            }
        }
        let sizes = self
            .sizes
            .iter()
            .filter(|(id, size)| other.sizes.iter().any(|(i, s)| i == id && s != size))
            .count();
        if sizes > 0 {
            differs.push(format!("{sizes} conductors of another size"));
            weight += 0.1 * sizes as f64;
        }
        if (self.autonomy_days - other.autonomy_days).abs() > 0.1 {
            differs.push(format!("{:.1} days without charging", other.autonomy_days));
            weight +=
                ((other.autonomy_days - self.autonomy_days) / self.autonomy_days.max(0.1)).abs().min(2.0);
        }
        if (other.price - self.price).abs() > self.price * 0.01 {
            differs.push(format!("parts at about {}", other.price));
            weight += ((other.price - self.price) / self.price.max(Money::new(1.0))).abs();
        }
        if other.refused > self.refused {
            differs.push("refused".to_owned());
            weight += 3.0;
        }
        if other.gaps > self.gaps {
            differs.push("a part is missing".to_owned());
            weight += 1.0;
        }
        (if differs.is_empty() { "the same".to_owned() } else { differs.join(", ") }, weight)
    }
}
