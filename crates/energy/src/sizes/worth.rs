//! What a whole system costs and weighs, and how many modules a roof takes.
//! Never: chooses. Money and mass are whole hundredths and grams here, so that sums do not depend on their order.
//! Start at [`Worth::of`].

use model::parts::{Library, PartFacts};
use model::{Craft, Name, System};
use quantity::{Kilograms, Metres, Money};
use reference::Reference;

/// Cost and mass of a system.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Worth {
    /// Middle of the price band, in hundredths.
    pub cents: i64,
    /// Mass in grams.
    pub grams: i64,
}

impl Worth {
    /// Devices and cable, each at the middle of its price band; lugs and small parts are left out.
    pub fn of(system: &System, library: &Library) -> Self {
        let (mut cost, mut mass) = (0.0, system.device_mass().get());
        for device in &system.devices {
            cost += (device.price.0 + device.price.1).get() / 2.0;
        }
        let reference = Reference::standard();
        for conductor in system.conductors.iter().filter(|conductor| !conductor.is_internal) {
            let metres = conductor.length * (1.0 + system.slack.get());
            let part = conductor
                .cable
                .as_deref()
                .and_then(|id| Name::new(id.strip_prefix("cable.")?).ok())
                .and_then(|id| library.cable.get(&id));
            match part {
                // The part tells one metre of the whole cable; its cores share it.
                Some(cable) => {
                    let share = metres.get() / f64::from(conductor.cores.max(1));
                    let (low, high) = cable.price();
                    cost += (low + high).get() / 2.0 * share;
                    mass += cable.mass.get() * share;
                }
                None => mass += reference.cable_mass(conductor.gauge.area(), metres).value.get(),
            }
        }
        Self { cents: whole(cost * 100.0), grams: whole(mass * 1000.0) }
    }
    /// Both added.
    pub fn plus(self, other: Self) -> Self {
        Self { cents: self.cents.saturating_add(other.cents), grams: self.grams.saturating_add(other.grams) }
    }
    /// What this is more than the other.
    pub fn minus(self, other: Self) -> Self {
        Self { cents: self.cents.saturating_sub(other.cents), grams: self.grams.saturating_sub(other.grams) }
    }
    /// As money.
    pub fn cost(self) -> Money {
        Money::new(self.cents as f64 / 100.0)
    }
    /// As mass.
    pub fn mass(self) -> Kilograms {
        Kilograms::new(self.grams as f64 / 1000.0)
    }
}

fn whole(value: f64) -> i64 {
    // A figure out of reach is held at the end of the range; casts from floats saturate.
    value.round() as i64
}

/// Roof that modules may cover where nobody said, length and width [m]. Common practice, no source.
pub fn usual_roof(craft: Craft) -> (f64, f64) {
    match craft {
        Craft::Van | Craft::Workshop => (3.6, 1.6),
        Craft::Trailer => (2.4, 1.6),
        Craft::Boat => (3.0, 1.8),
        Craft::Hut => (6.0, 3.0),
    }
}

/// Modules that a rectangle takes in one grid, all lying one way or all the other.
pub fn modules_on(space: (f64, f64), size: &[Metres]) -> u32 {
    let (Some(length), Some(width)) = (size.first(), size.get(1)) else { return 0 };
    let (length, width) = (length.get(), width.get());
    if !(length > 0.0 && width > 0.0) {
        return 0;
    }
    // A module of exactly the space's size fits.
    let along = |room: f64, each: f64| ((room + 1e-9) / each).floor().clamp(0.0, 1000.0) as u32;
    let grid = |a: f64, b: f64| along(space.0, a) * along(space.1, b);
    grid(length, width).max(grid(width, length))
}

#[cfg(test)]
mod tests {
    use super::*;

    // Arithmetic, counted on paper.
    #[test]
    fn a_roof_takes_as_many_as_lie_in_a_grid() {
        let size = [Metres::new(1.2), Metres::new(1.1), Metres::new(0.03)];
        assert_eq!(modules_on((2.4, 2.2), &size), 4);
        assert_eq!(modules_on((2.39, 2.2), &size), 2, "1 by 2, or turned 2 by 1");
    }
}
