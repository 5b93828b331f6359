//! Which options can do no more than others: less sun, less engine, a thirstier inverter.
//! Never: compares banks, for a larger one also loses more by itself. Where it is not sure, it says no.
//! Start at [`Order::does_no_more`].

use super::mix::{Mix, Skies, digits, is_orderly};
use super::options::{Brings, Options};
use crate::plant::{EnginePlant, Plant};

/// More than rounding could make of two products of the same numbers.
const CLOSE: f64 = 1e-12;

/// The options of each kind in their order of what they can do; empty where a plant is not [orderly](is_orderly).
///
/// In an orderly plant each hour's charge rises with the bank's and with every source's power, and falls with every need. So of two
/// combinations with the same bank, the one with less from every source and more need in every hour never has more in its bank until it
/// goes short: where the other goes short, it has gone short by then.
pub struct Order {
    /// Arrays: whether the first does no more than the second.
    arrays: Vec<Vec<bool>>,
    /// Engine chargers.
    engines: Vec<Vec<bool>>,
    /// Inverters.
    inverters: Vec<Vec<bool>>,
    is_known: bool,
}

impl Order {
    /// Compares all options, two by two.
    pub fn of(options: &Options, plant: &Plant, skies: &Skies) -> Self {
        let is_known = is_orderly(plant, skies.has_spare());
        if !is_known {
            return Self { arrays: Vec::new(), engines: Vec::new(), inverters: Vec::new(), is_known };
        }
        let classes = options.classes.len();
        // How much of the other class's watt a watt of the class gives at least.
        let ratios: Vec<Vec<f64>> = (0..classes)
            .map(|class| {
                let least = |other| if other == class { 1.0 } else { skies.least_ratio(class, other) };
                (0..classes).map(least).collect()
            })
            .collect();
        let pairs = |kind: usize, is_less: &dyn Fn(&Brings, &Brings) -> bool| -> Vec<Vec<bool>> {
            let list = options.lists.get(kind).map_or(&[][..], Vec::as_slice);
            list.iter().map(|a| list.iter().map(|b| is_less(&a.brings, &b.brings)).collect()).collect()
        };
        Self {
            arrays: pairs(1, &|a, b| less_sun(a, b, &ratios)),
            engines: pairs(2, &less_engine),
            inverters: pairs(3, &thirstier),
            is_known,
        }
    }

    /// Whether a combination surely runs out in every year in which another does.
    pub fn does_no_more(&self, options: &Options, at: usize, other: usize) -> bool {
        if !self.is_known {
            return false;
        }
        let (Some(a), Some(b)) = (digits(options, at), digits(options, other)) else { return false };
        let says = |table: &[Vec<bool>], kind: usize| {
            table.get(a[kind]).and_then(|row| row.get(b[kind])).copied().unwrap_or(false)
        };
        let is_less =
            a[0] == b[0] && says(&self.arrays, 1) && says(&self.engines, 2) && says(&self.inverters, 3);
        if !is_less {
            return false;
        }
        // A larger array leaves less of the bank's limit to the charger.
        let (Some(a), Some(b)) = (Mix::at(options, at), Mix::at(options, other)) else { return false };
        let ((amps, efficiency), (other_amps, other_efficiency)) = (a.charger(), b.charger());
        amps <= other_amps && efficiency <= other_efficiency
    }
}

fn less_sun(a: &Brings, b: &Brings, ratios: &[Vec<f64>]) -> bool {
    if a.standing_w < b.standing_w || a.panels.len() > b.panels.len() {
        return false;
    }
    a.panels.iter().zip(&b.panels).all(|(a, b)| {
        let ratio = ratios.get(b.class).and_then(|row| row.get(a.class)).copied().unwrap_or(0.0);
        // The products must not come out the other way by rounding.
        let margin = if a.class == b.class { 1.0 } else { 1.0 - CLOSE };
        a.watts <= b.watts * ratio * margin && a.efficiency <= b.efficiency && a.limit_w <= b.limit_w
    })
}

fn less_engine(a: &Brings, b: &Brings) -> bool {
    match (a.engine, b.engine) {
        (None, _) => true,
        (Some(EnginePlant::DcDc { amps, .. }), Some(EnginePlant::DcDc { amps: other, .. })) => amps <= other,
        _ => false,
    }
}

fn thirstier(a: &Brings, b: &Brings) -> bool {
    if a.inverter_on != b.inverter_on || a.inverter_share < b.inverter_share {
        return false;
    }
    match (a.inverter, b.inverter) {
        (Some(a), Some(b)) => a.idle_w >= b.idle_w,
        (None, None) => true,
        _ => false,
    }
}
