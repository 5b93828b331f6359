//! Loads on two axles by the lever rule.
//! Never: judges them (see `faults.rs`); knows people or baggage that nobody placed.
//! Start at [`lever`].

use model::PlanIntent;
use quantity::Kilograms;
use serde::Serialize;

use crate::vehicle::{VehicleCable, VehiclePoint, Way};

/// An axle with its load.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Axle {
    /// Its name.
    pub name: String,
    /// Forwards from the rear end \[mm\].
    pub x_mm: i32,
    /// Load when empty, as said.
    pub empty: Option<Kilograms>,
    /// Load of what the plan places; less than nothing where that lifts the axle.
    pub added: Kilograms,
    /// Load that it may carry, as said.
    pub most: Option<Kilograms>,
}

impl Axle {
    /// Empty and added together; `None` where the empty load is not said.
    pub fn load(&self) -> Option<Kilograms> {
        self.empty.map(|empty| empty + self.added)
    }
}

/// Loads on the two axles.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AxleLoads {
    /// The rear axle and the front axle.
    pub axles: [Axle; 2],
    /// Mass of all that the plan places, cables with it.
    pub placed: Kilograms,
    /// Mass of the cables in it, each spread along its way.
    pub cables: Kilograms,
}

/// Shares of a mass on the rear and on the front of two axles: `front = m (x − rear) / (front − rear)`.
///
/// - `mass_kg` at `x`; `rear` and `front`: places of the axles, in the unit of `x`, not equal.
///
/// A mass behind the rear axle lifts the front one: its share is negative.
pub fn lever(mass_kg: f64, x: f64, rear: f64, front: f64) -> (f64, f64) {
    let on_front = mass_kg * (x - rear) / (front - rear);
    (mass_kg - on_front, on_front)
}

/// Where the mass of a cable acts, forwards from the rear end \[mm\]: spread evenly along its way, each stretch acts in its middle.
pub(crate) fn middle_mm(way: &Way) -> Option<f64> {
    let whole = f64::from(way.length_mm());
    let sum: f64 = way
        .stretches
        .iter()
        .map(|stretch| {
            f64::from(stretch.length_mm()) * f64::from(stretch.from_mm[0] + stretch.to_mm[0]) / 2.0
        })
        .sum();
    (whole > 0.0).then(|| sum / whole)
}

/// The loads; `None` without two axles.
pub fn loads(plan: &PlanIntent, points: &[VehiclePoint], cables: &[VehicleCable]) -> Option<AxleLoads> {
    let mut axles: Vec<Axle> = plan
        .axles
        .iter()
        .map(|(name, axle)| Axle {
            name: name.to_string(),
            x_mm: (axle.x.get() * 1000.0).round().clamp(-1e6, 1e6) as i32,
            empty: axle.empty,
            added: Kilograms::zero(),
            most: axle.most,
        })
        .collect();
    axles.sort_by_key(|axle| axle.x_mm);
    let [mut rear, mut front]: [Axle; 2] = axles.try_into().ok()?;
    if rear.x_mm == front.x_mm {
        return None;
    }
    let points = points.iter().map(|point| (point.mass, f64::from(point.at_mm[0])));
    let along = cables.iter().filter_map(|cable| Some((cable.mass, middle_mm(&cable.way)?)));
    let mut placed = Kilograms::zero();
    for (mass, x) in points.chain(along) {
        let (on_rear, on_front) = lever(mass.get(), x, f64::from(rear.x_mm), f64::from(front.x_mm));
        rear.added += Kilograms::new(on_rear);
        front.added += Kilograms::new(on_front);
        placed += mass;
    }
    let cables = cables.iter().map(|cable| cable.mass).sum();
    Some(AxleLoads { axles: [rear, front], placed, cables })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// OpenStax, University Physics volume 1, chapter 12, problem 30: of a 1000 kg car with 3.0 m between the axles 60 % stand
    /// on the front wheels; its centre of mass is 1.2 m behind them.
    #[test]
    fn a_car_of_a_textbook() {
        let (rear, front) = lever(1000.0, 3.0 - 1.2, 0.0, 3.0);
        assert!((front - 600.0).abs() < 1e-9 && (rear - 400.0).abs() < 1e-9);
    }

    /// Halliday, Resnick and Walker, Fundamentals of Physics, chapter 12: 1360 kg, 3.05 m between the axles, centre of gravity
    /// 1.78 m behind the front one: 2.77 kN on each front wheel and 3.89 kN on each rear wheel (answers from memory).
    #[test]
    fn another_car_of_another_textbook() {
        let (rear, front) = lever(1360.0, 3.05 - 1.78, 0.0, 3.05);
        assert!((front * 9.8 / 2.0 - 2770.0).abs() < 10.0, "{front}");
        assert!((rear * 9.8 / 2.0 - 3890.0).abs() < 10.0, "{rear}");
    }

    #[test]
    fn a_mass_behind_the_rear_axle_lifts_the_front() {
        let (rear, front) = lever(100.0, 0.0, 1000.0, 4000.0);
        assert!(front < 0.0 && rear > 100.0 && (rear + front - 100.0).abs() < 1e-9);
    }
}
