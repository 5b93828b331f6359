//! Readings at what charges the bank: open-circuit voltage of arrays, settings of chargers.
//! Never: holds a figure of a module or a charger; those are the system's.
//! Start at [`arrays`] and [`settings`].

use model::{Spec, System};
use reference::Reference;

use crate::expected::{Draft, Expected, Kind, Stage};
use crate::measure::Unit;

/// Share of the light's open-circuit voltage that is left under cloud. Common practice, no source.
const DIM: f64 = 0.93;

/// Open-circuit voltage of an array over the temperatures of its cells: coldest air to hottest cell, dim light at the hot end.
pub(crate) fn array_range(array: &model::Array) -> [f64; 3] {
    let module = &array.module;
    let sheet = module.open_voltage.get() * f64::from(array.series.max(1));
    let share = module.voltage_coefficient.get() / 100.0;
    let at = |celsius: f64| sheet * (1.0 + share * (celsius - 25.0));
    [at(array.hottest_cell.get()) * DIM, at(35.0), at(array.coldest.get())]
}

/// Each array, and each of its strings.
pub(crate) fn arrays(system: &System, list: &mut Vec<Expected>) {
    for (ix, device) in system.devices.iter().enumerate() {
        let Spec::Array(array) = &device.spec else { continue };
        let range = array_range(array);
        let strings = if array.parallel > 1 { array.parallel } else { 0 };
        let ids = (1..=strings)
            .map(|string| (format!("array:{}.string-{string}", device.id), format!("String {string} of ")))
            .chain([(format!("array:{}", device.id), String::new())]);
        for (id, of) in ids {
            let mut expected = Draft {
                id,
                title: format!("{of}{} open-circuit", device.title),
                how: "Daylight on the modules, array disconnected from its controller. Meter on DC volts: red on the array's \
                      positive lead, black on its negative. Never pull a connector under load"
                    .to_owned(),
                stage: Stage::FirstPower,
                kind: Kind::Array,
                unit: Unit::Volts,
                range,
                why_wide: format!(
                    "Cells from {} to {} and the light of a cloudy day ({:.0} % of the voltage: common practice, no source)",
                    array.coldest,
                    array.hottest_cell,
                    DIM * 100.0
                ),
            }
            .expect();
            expected.because = vec![format!(
                "{} in series of {}, {} per kelvin from 25 °C (the module's sheet)",
                array.series, array.module.open_voltage, array.module.voltage_coefficient
            )];
            expected.caution = Some("An array in light is live and cannot be switched off.".to_owned());
            expected.devices = vec![device.id.clone()];
            expected.about = Some(ix);
            list.push(expected);
        }
    }
}

/// Settings that a charger must be given.
pub(crate) fn settings(system: &System, list: &mut Vec<Expected>) {
    for (ix, device) in system.devices.iter().enumerate() {
        let setting = match &device.spec {
            Spec::Charger(_, setting) | Spec::DcDc(_, setting) | Spec::Controller(_, setting) => setting,
            Spec::Inverter(_, Some(setting)) => setting,
            _ => continue,
        };
        let tolerance = Reference::standard().charge_voltage_tolerance(system.voltage);
        for (word, volts) in [("absorption", setting.absorption), ("float", setting.float)] {
            let mut expected = Draft {
                id: format!("setting:{}:{word}", device.id),
                title: format!("{word} voltage that {} is set to", device.title),
                how: "Read it in the device's settings; later, with the bank full, measure the same at the bank".to_owned(),
                stage: Stage::Charging,
                kind: Kind::Setting,
                unit: Unit::Volts,
                range: [
                    volts.get() - tolerance.value.get(),
                    volts.get(),
                    volts.get() + tolerance.value.get(),
                ],
                why_wide: format!("How far a set point may stand off the battery's sheet: {}", tolerance.cite),
            }
            .expect();
            expected.because = vec![format!("profile {} of the bank", setting.profile)];
            expected.devices = vec![device.id.clone()];
            expected.about = Some(ix);
            list.push(expected);
        }
    }
}
