//! The figures at the head of the page.
//! Never: computes one that a crate below has.
//! Start at [`figures`].

use energy::site::day_of_hour;
use model::{Pole, Spec, System};
use network::{Results, Scene};
use quantity::{Fraction, Volts};

use super::date;
use crate::Stand;
use crate::wire::{Better, Figure};

/// All that can be told.
pub fn figures(stand: &Stand) -> Vec<Figure> {
    let system = &stand.system;
    let mut figures = Vec::new();
    worth(stand, &mut figures);
    if let Some(bank) = &system.bank {
        figures.push(Figure {
            note: format!("{} {}, {} of it usable", bank.chemistry, bank.energy, bank.usable),
            ..figure("bank", "Bank", bank.capacity.to_string(), Some(bank.usable.get()), Better::Neither)
        });
    }
    sun(system, &mut figures);
    if system.bank.is_some() {
        lasts(stand, &mut figures);
    }
    if let Some(study) = &stand.study {
        let chance = &study.years.running_out;
        figures.push(Figure {
            note: format!(
                "95 % sure between {} and {}; {} is put up with",
                chance.low, chance.high, system.usage.running_out
            ),
            ..figure(
                "runs-out",
                "Runs out in a year",
                chance.share.to_string(),
                Some(chance.share.get()),
                Better::Less,
            )
        });
        let (lowest, hour) = study.year.lowest;
        figures.push(Figure {
            note: format!("on {} of a typical year", date(day_of_hour(hour))),
            ..figure(
                "lowest-charge",
                "Lowest charge",
                format!("{:.0} %", 100.0 * lowest),
                Some(lowest),
                Better::More,
            )
        });
    }
    if let Some(result) = stand.results.scene(Scene::EverythingOn)
        && let Some(lowest) = lowest_load_volts(system, &result.volts)
    {
        figures.push(Figure {
            note: format!(
                "{} with everything on and the bank low, {} of its {}",
                lowest.title, lowest.share, lowest.nominal
            ),
            ..figure(
                "lowest-volts",
                "Lowest voltage at a load",
                lowest.volts.to_string(),
                Some(lowest.share.get()),
                Better::More,
            )
        });
    }
    let energy = &system.energy;
    figures.push(Figure {
        note: format!(
            "{} in summer, {} in winter; {} of it idle draw",
            energy.need_summer, energy.need_winter, energy.idle
        ),
        ..figure(
            "daily-need",
            "Need",
            energy.need_summer.max(energy.need_winter).to_string(),
            Some(energy.need_summer.max(energy.need_winter).get()),
            Better::Less,
        )
    });
    for device in &system.devices {
        if let Spec::Inverter(part, _) = &device.spec {
            figures.push(Figure {
                note: format!("{}; {} may run at once", part.title, system.ac_peak),
                ..figure(
                    "inverter",
                    "Inverter",
                    part.power.to_string(),
                    Some(part.power.get()),
                    Better::Neither,
                )
            });
        }
    }
    figures
}

fn figure(id: &str, title: &str, text: String, value: Option<f64>, better: Better) -> Figure {
    Figure { id: id.to_owned(), title: title.to_owned(), text, value, better, note: String::new() }
}

/// Price and mass of the parts list; dashes for a refused system, of which there is none.
fn worth(stand: &Stand, figures: &mut Vec<Figure>) {
    let refused = "no parts list of a system that cannot be built".to_owned();
    let Some(schedules) = &stand.schedules else {
        for (id, title) in [("price", "Price"), ("mass", "Mass")] {
            figures.push(Figure {
                note: refused.clone(),
                ..figure(id, title, "–".to_owned(), None, Better::Less)
            });
        }
        return;
    };
    let (low, high) = schedules.parts.price;
    let unknown = match schedules.parts.lines_unknown {
        0 => String::new(),
        1 => "; 1 line has no price".to_owned(),
        count => format!("; {count} lines have no price"),
    };
    figures.push(Figure {
        note: format!("all parts with cable and spares{unknown}"),
        ..figure(
            "price",
            "Price",
            format!("{:.0} to {:.0}", low.get(), high.get()),
            Some((low.get() + high.get()) / 2.0),
            Better::Less,
        )
    });
    let mass = schedules.parts.mass;
    let allowed =
        stand.system.payload.map_or_else(String::new, |payload| format!("{payload} may be carried"));
    figures.push(Figure {
        note: allowed,
        ..figure("mass", "Mass", mass.to_string(), Some(mass.get()), Better::Less)
    });
}

fn sun(system: &System, figures: &mut Vec<Figure>) {
    let energy = &system.energy;
    let most = energy.sun_summer.max(energy.sun_winter);
    if most <= quantity::WattHoursPerDay::zero() {
        return;
    }
    let modules: f64 = system
        .devices
        .iter()
        .filter_map(|device| match &device.spec {
            Spec::Array(array) => Some(array.module.power.get() * f64::from(array.series * array.parallel)),
            _ => None,
        })
        .sum();
    figures.push(Figure {
        note: format!(
            "{} of modules; {} in summer, {} in winter",
            quantity::Watts::new(modules),
            energy.sun_summer,
            energy.sun_winter
        ),
        ..figure("sun", "From the sun", most.to_string(), Some(most.get()), Better::More)
    });
}

/// The hours decide where they were followed; the mean day sized the bank.
fn lasts(stand: &Stand, figures: &mut Vec<Figure>) {
    let energy = &stand.system.energy;
    let wanted = format!("without any charging; {} wanted", energy.autonomy_wanted);
    let (text, value) = match &stand.study {
        Some(study) => match study.autonomy {
            Some(hours) => (hours.to_string(), Some(hours.get())),
            None => ("over 60 days".to_owned(), None),
        },
        None => (energy.autonomy.to_string(), Some(energy.autonomy.get())),
    };
    figures.push(Figure { note: wanted, ..figure("lasts", "Lasts", text, value, Better::More) });
}

/// The load that sees the lowest share of its own voltage.
struct Lowest {
    title: String,
    volts: Volts,
    nominal: Volts,
    share: Fraction,
}

/// Lowest share of its own voltage that any DC load sees, and which.
fn lowest_load_volts(system: &System, volts: &[Vec<Option<Volts>>]) -> Option<Lowest> {
    let mut lowest: Option<Lowest> = None;
    for (ix, device) in system.devices.iter().enumerate() {
        let Spec::Load(load) = &device.spec else { continue };
        let at = |pole| {
            let terminal = device.terminals.iter().position(|terminal| terminal.pole == pole)?;
            *volts.get(ix)?.get(terminal)?
        };
        let (Some(plus), Some(minus)) = (at(Pole::Positive), at(Pole::Negative)) else { continue };
        let share = (plus - minus) / load.voltage;
        if lowest.as_ref().is_none_or(|least| share < least.share.get()) {
            lowest = Some(Lowest {
                title: device.title.clone(),
                volts: plus - minus,
                nominal: load.voltage,
                share: Fraction::new(share),
            });
        }
    }
    lowest
}

/// Volts across a device's DC side in a scene: positive less negative.
pub fn across(results: &Results, scene: Scene, system: &System, device: usize) -> Option<Volts> {
    let volts = results.scene(scene)?.volts.get(device)?;
    let at = |pole| {
        let terminal = system.devices.get(device)?.terminals.iter().position(|t| t.pole == pole)?;
        *volts.get(terminal)?
    };
    Some(at(Pole::Positive)? - at(Pole::Negative)?)
}
