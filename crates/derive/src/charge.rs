//! Charging: which controllers and chargers, and their runs to the busbars.
//! Never: counts the yearly energy.
//! Start at [`choose`], then [`build`].

use model::parts::{Charger, Chemistry};
use model::{ChargeSetting, CircuitKind, Inputs, Name, Origin};
use quantity::{Amps, Fraction, HoursPerDay, Metres, Watts};

use crate::bank::BankChoice;
use crate::board::{Bars, MAIN_DROP};
use crate::builder::{Builder, Given};
use crate::choose::PartAsk;
use crate::engine::{EngineChoice, build_engine, choose_engine};
use crate::run::{Guard, Run};
use crate::settings::Settings;
use crate::solar::{SolarChoice, build_solar, choose_solar};

/// What charges the bank.
#[derive(Clone, Debug, Default)]
pub struct Charging {
    pub solar: Vec<SolarChoice>,
    pub engine: Option<EngineChoice>,
    pub engine_current: Amps,
    pub engine_spare: Amps,
    pub driving: HoursPerDay,
    pub charger: Option<(Name, Charger)>,
    pub inverter_charge: Amps,
}

impl Charging {
    /// Everything that may charge at once, at the bank.
    pub fn total(&self) -> Amps {
        let solar: Amps = self
            .solar
            .iter()
            .filter_map(|solar| solar.controller.as_ref())
            .map(|(_, controller)| controller.current)
            .sum();
        let charger = self.charger.as_ref().map_or(Amps::zero(), |(_, charger)| charger.current);
        solar + self.engine_current + charger + self.inverter_charge
    }
}

impl Charging {
    /// What the bank may still take beside all the sun, at least a quarter of its limit: clouds come.
    pub fn room(&self, bank: &BankChoice) -> Amps {
        let sun: Amps = self
            .solar
            .iter()
            .filter_map(|solar| {
                let (_, controller) = solar.controller.as_ref()?;
                Some(controller.current.min(solar.power() / bank.voltage_low()))
            })
            .sum();
        (bank.charge_limit() - sun).max(bank.charge_limit() / 4.0)
    }
}

/// Chooses controllers and chargers.
pub fn choose(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    need_winter: Watts,
) -> Charging {
    let mut charging = Charging::default();
    let project = builder.project;
    for name in project.intent.solar.keys() {
        if let Some(solar) = choose_solar(builder, settings, bank, name, need_winter) {
            charging.solar.push(solar);
        }
    }
    choose_engine(builder, settings, bank, &mut charging);
    choose_charger(builder, settings, bank, &mut charging);
    charging
}

fn choose_charger(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    charging: &mut Charging,
) {
    let project = builder.project;
    let Some(charger) = &project.intent.charger else { return };
    let fill = builder
        .given(
            "charger.fill_time",
            charger.fill_time,
            quantity::Hours::new(8.0),
            Some((quantity::Hours::new(4.0), quantity::Hours::new(16.0))),
            "a night on shore power fills the bank",
            false,
        )
        .value;
    let by_time = bank.capacity() * bank.usable.get() / fill;
    let most = charging.room(bank);
    let wish = charger.current.unwrap_or(by_time).min(most);
    let ask = PartAsk {
        path: "charger.part",
        kind: "charger",
        need: format!(
            "{} x {} / {fill} = {by_time}: a charger of at least {wish} and at most {} for {} {} on {}",
            bank.capacity(),
            bank.usable,
            most,
            settings.voltage,
            bank.battery.chemistry,
            settings.ac_voltage
        ),
        named: charger.part.as_ref(),
        intent: "charger",
        inputs: Inputs::new()
            .with("capacity", bank.capacity(), Origin::Derived("bank.capacity".to_owned()))
            .with("what the bank takes beside the sun", most, Origin::Derived("bank.part".to_owned())),
    };
    let chosen = builder.choose(&project.library.charger, ask, |part: &Charger| {
        settings.is_bank_voltage(part.voltage)
            && settings.is_ac_voltage(part.input)
            && part.current >= wish
            && part.current <= most
            && part.profiles.contains(&bank.battery.chemistry)
    });
    let Some((id, part)) = chosen else { return };
    charging.charger = Some((id, part));
}

/// Charger settings for a bank.
pub fn setting(bank: &BankChoice, current: Amps, profiles: &[Chemistry]) -> ChargeSetting {
    let chemistry = bank.battery.chemistry;
    ChargeSetting {
        absorption: bank.voltage_charging(),
        float: bank.voltage_high(),
        current,
        profile: if profiles.contains(&chemistry) {
            chemistry
        } else {
            profiles.first().copied().unwrap_or(chemistry)
        },
        // Nobody has said that the charger feels the battery's cold, so it is not counted on; a heated battery is.
        stops_in_cold: false,
    }
}

/// Builds arrays, engine charging and charger with their runs.
pub fn build(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bank: &BankChoice,
    bars: Bars,
    charging: &Charging,
) {
    for solar in &charging.solar {
        build_solar(builder, settings, bank, bars, solar);
    }
    if let Some(engine) = &charging.engine {
        build_engine(builder, settings, bank, bars, charging, engine);
    }
}

/// A charging run from a device to the busbars, fused at the busbar.
#[allow(clippy::too_many_arguments)] // a run has this many facts
pub fn charge_run(
    builder: &mut Builder<'_>,
    settings: &Settings,
    bars: Bars,
    id: &str,
    title: &str,
    device: usize,
    current: Amps,
    length: Given<Metres>,
    zone: usize,
    intent: &str,
    step: String,
) {
    let factor = builder.reference.continuous_factor(settings.rules);
    let limit = builder.reference.drop_limit(settings.rules, true, false);
    let drop_limit = Fraction::new(limit.value.get() - MAIN_DROP);
    builder.because(
        format!("{id}.drop-limit"),
        Inputs::new()
            .with("critical circuits", format!("{} %", limit.value.get() * 100.0), Origin::Table(limit.cite))
            .because(format!("{:.1} %", drop_limit.get() * 100.0), "a charger must see the bank's voltage"),
    );
    let to = (builder.at(device, "positive"), builder.at(device, "negative"));
    builder.lay(
        settings,
        Run {
            id: id.to_owned(),
            title: title.to_owned(),
            kind: CircuitKind::Charge,
            voltage: settings.voltage,
            voltage_lowest: settings.voltage_low,
            steady: current,
            surge: current,
            drop_current: current,
            continuous: true,
            critical: true,
            drop_limit,
            factor: (factor.value, Origin::Table(factor.cite)),
            from: (bars.positive, bars.negative),
            to,
            length,
            zone,
            bundle: 1,
            sheathed: false,
            guard: Guard::AtSource,
            intent: intent.to_owned(),
            current_step: step,
            current_inputs: Inputs::new(),
            serves: vec![device],
        },
    );
}
