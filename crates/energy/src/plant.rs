//! The system as the hour loop sees it: a bank, what charges it, what draws on it, each as a few numbers.
//! Never: runs anything (see `run`), reads the intent; it is made from the [`System`] alone.
//! Start at [`Plant::of`].

use model::parts::Battery;
use model::{Circuit, CircuitKind, Pole, Spec, System, Zone, ZoneKind};
use reference::Reference;

use crate::needs::Needs;
use crate::site::{DAYS, HOURS};
use crate::storage::BankModel;

/// An inverter: `loss = idle + linear P + square P²`, through its idle draw and its two stated efficiencies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InverterLoss {
    /// Draw without load [W].
    pub idle_w: f64,
    /// Part of the output that is lost.
    pub linear: f64,
    /// Part that grows with the square of the output [1/W].
    pub square: f64,
    /// Continuous power [W].
    pub rated_w: f64,
}

impl InverterLoss {
    /// From a part's figures at a quarter and at full power.
    pub fn of(part: &model::parts::Inverter) -> Self {
        let (idle_w, rated_w) = (part.idle.get(), part.power.get().max(1.0));
        let loss = |share: f64, efficiency: f64| {
            let out = rated_w * share;
            ((out / efficiency.clamp(0.05, 1.0) - out - idle_w) / out).max(0.0)
        };
        let (quarter, full) =
            (loss(0.25, part.efficiency_quarter.get()), loss(1.0, part.efficiency_full.get()));
        let square = ((full - quarter) / (0.75 * rated_w)).max(0.0);
        Self { idle_w, linear: (full - square * rated_w).max(0.0), square, rated_w }
    }
    /// Loss beside the idle draw, as a share of the output.
    pub fn share(&self, output_w: f64) -> f64 {
        self.linear + self.square * output_w
    }
}

/// A solar array with its controller.
#[derive(Clone, Debug, PartialEq)]
pub struct ArrayPlant {
    /// The array's name in intent.toml.
    pub name: String,
    /// The array, with all strings in it.
    pub array: model::Array,
    /// Efficiency of the controller.
    pub efficiency: f64,
    /// Most that the controller puts on the busbars [W].
    pub limit_w: f64,
    /// Voltage below which a controller without tracking pulls the array down: power is lost in proportion.
    pub follows_bank: Option<f64>,
}

/// How the engine charges.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EnginePlant {
    /// Through a DC-DC charger.
    DcDc {
        /// Current into the bank [A].
        amps: f64,
        /// Efficiency.
        efficiency: f64,
    },
    /// Through a relay that joins both batteries.
    Relay {
        /// Voltage that the alternator holds [V].
        volts: f64,
        /// Resistance of cable, fuses and the bank itself [Ω].
        ohms: f64,
        /// Resistance of the bank alone [Ω].
        bank_ohms: f64,
        /// Most that alternator or relay gives [A].
        most_amps: f64,
    },
}

/// Charging from alternating current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SupplyPlant {
    /// Current into the bank [A]; 0 without a charger.
    pub amps: f64,
    /// Efficiency of the charger.
    pub efficiency: f64,
    /// What shore power gives [W]; 0 without.
    pub shore_w: f64,
    /// What the generator gives [W]; 0 without.
    pub generator_w: f64,
    /// Most hours of generator a day.
    pub generator_hours: f64,
    /// State of charge below which it starts.
    pub generator_start: f64,
    /// State of charge above which it stops.
    pub generator_stop: f64,
    /// Share of each hour of the day in which it may run.
    pub generator_may: [f64; 24],
}

/// The system as the hour loop sees it.
#[derive(Clone, Debug)]
pub struct Plant {
    /// The bank.
    pub bank: BankModel,
    /// One battery of it.
    pub battery: Battery,
    /// State of charge that all but vital loads leave in it.
    pub floor: f64,
    /// State of charge below which spare loads are given up.
    pub spare_floor: f64,
    /// Arrays.
    pub arrays: Vec<ArrayPlant>,
    /// Mean efficiency of the controllers.
    pub controllers: f64,
    /// The engine.
    pub engine: Option<EnginePlant>,
    /// Shore power, generator and charger.
    pub supply: SupplyPlant,
    /// The inverter.
    pub inverter: Option<InverterLoss>,
    /// Who carries first: sun (0), engine (1) and charger (2), the highest absorption voltage before the others.
    pub order: [usize; 3],
    /// Loss of the inverter beside its idle draw, as a share of what AC loads take.
    pub inverter_share: f64,
    /// Idle draw of controllers, monitor and converters [W].
    pub standing_w: f64,
    /// What the loads ask.
    pub needs: Needs,
    /// Share of each hour with the engine running, and with shore power.
    pub there: Vec<[f32; 2]>,
    /// Coldest and hottest of the cabin and of the bank's place [°C].
    pub cabin_c: (f64, f64),
    /// Likewise of the bank's place.
    pub bank_c: (f64, f64),
}

impl Plant {
    /// Gathers it; `None` where the system has no bank.
    pub fn of(system: &System) -> Option<Self> {
        let facts = system.bank.as_ref()?;
        let battery = system.devices.iter().find_map(|device| match &device.spec {
            Spec::Battery(at) => Some(at.part.clone()),
            _ => None,
        })?;
        let bank = BankModel::of(facts, &battery);
        let usable =
            if facts.energy.get() > 0.0 { (facts.usable / facts.energy).clamp(0.05, 1.0) } else { 1.0 };
        let floor = 1.0 - usable;
        let arrays = arrays(system);
        let rated = |array: &ArrayPlant| array.array.module.power.get() * f64::from(array.array.parallel);
        let whole: f64 = arrays.iter().map(rated).sum();
        let controllers = if whole > 0.0 {
            arrays.iter().map(|array| rated(array) * array.efficiency).sum::<f64>() / whole
        } else {
            1.0
        };
        let inverter = system.devices.iter().find_map(|device| match &device.spec {
            Spec::Inverter(part, _) => Some(InverterLoss::of(part)),
            _ => None,
        });
        let needs = Needs::of(system);
        let zone = |is: &dyn Fn(&Zone) -> bool| system.zones.iter().find(|zone| is(zone));
        let span = |zone: Option<&Zone>| {
            zone.map_or((-60.0, 60.0), |zone| {
                let (cold, hot) = (zone.coldest.get(), zone.hottest.get());
                (cold.min(hot), hot.max(cold))
            })
        };
        Some(Self {
            floor,
            // A fifth of the usable part; common practice, no source.
            spare_floor: floor + 0.2 * usable,
            controllers,
            engine: engine(system, facts),
            order: order(system),
            supply: supply(system, floor, usable),
            inverter_share: inverter.map_or(0.0, |inverter| inverter_share(system, &inverter)),
            inverter,
            standing_w: standing(system),
            there: there(system, &needs),
            needs,
            cabin_c: span(zone(&|zone| zone.kind == ZoneKind::Living)),
            bank_c: span(system.zones.get(facts.zone)),
            bank,
            battery,
            arrays,
        })
    }
}

/// Arrays with their controllers, strings of one array added up.
fn arrays(system: &System) -> Vec<ArrayPlant> {
    let mut found: Vec<ArrayPlant> = Vec::new();
    for device in &system.devices {
        let Spec::Array(array) = &device.spec else { continue };
        if let Some(known) = found.iter_mut().find(|known| known.name == array.name) {
            known.array.parallel += array.parallel;
        } else {
            found.push(ArrayPlant {
                name: array.name.clone(),
                array: array.clone(),
                efficiency: 1.0,
                limit_w: 0.0,
                follows_bank: None,
            });
        }
    }
    for array in &mut found {
        let id = format!("{}.controller", array.name);
        if let Some(Spec::Controller(part, setting)) =
            system.find(&id).and_then(|ix| system.devices.get(ix)).map(|device| &device.spec)
        {
            array.efficiency = part.efficiency.get().clamp(0.05, 1.0);
            // While it works the bank stands near float; the current is what the controller limits.
            array.limit_w = part.current.get().min(setting.current.get()) * setting.float.get();
            if !part.tracks {
                let volts = array.array.module.power_voltage.get() * f64::from(array.array.series);
                array.follows_bank = (volts > 0.0).then(|| (setting.float.get() / volts).min(1.0));
            }
        }
    }
    found.retain(|array| array.limit_w > 0.0);
    found
}

fn engine(system: &System, bank: &model::Bank) -> Option<EnginePlant> {
    let used = system.usage.engine.as_ref()?;
    let alternator = system.devices.iter().find_map(|device| match &device.spec {
        Spec::Alternator(part) => Some(part),
        _ => None,
    });
    system.devices.iter().find_map(|device| match &device.spec {
        Spec::DcDc(part, setting) => {
            let efficiency = part.efficiency.get().clamp(0.05, 1.0);
            // The alternator cannot give more than it can spare.
            let input_w = part.input_current.get().min(used.spare.get().max(0.0)) * part.input.get();
            let amps = setting.current.get().min(input_w * efficiency / part.output.get().max(1.0));
            Some(EnginePlant::DcDc { amps, efficiency })
        }
        Spec::Relay(part) => {
            let own = alternator.map_or(part.voltage.get() * 1.18, |part| part.set_voltage.get());
            let ohms = engine_path_ohms(system) + bank.resistance.get();
            Some(EnginePlant::Relay {
                volts: own,
                ohms,
                bank_ohms: bank.resistance.get(),
                most_amps: part.current.get().min(used.spare.get()).max(0.0),
            })
        }
        _ => None,
    })
}

/// Sources by their absorption voltage: of several at work the one set highest holds the bank's voltage, and the others
/// give the less the closer it comes to theirs. Set alike, sun goes first, since it costs nothing, and shore or generator last.
fn order(system: &System) -> [usize; 3] {
    let mut volts = [0.0_f64; 3];
    for device in &system.devices {
        let (source, setting) = match &device.spec {
            Spec::Controller(_, setting) => (0, setting.absorption),
            Spec::DcDc(_, setting) => (1, setting.absorption),
            Spec::Charger(_, setting) | Spec::Inverter(_, Some(setting)) => (2, setting.absorption),
            _ => continue,
        };
        volts[source] = volts[source].max(setting.get());
    }
    let mut order = [0, 1, 2];
    order.sort_by(|a, b| volts[*b].total_cmp(&volts[*a]));
    order
}

/// Copper of the way from engine to bank, both poles, at 20 °C [Ω].
fn engine_path_ohms(system: &System) -> f64 {
    let reference = Reference::standard();
    let on_the_way = |circuit: &Circuit| {
        matches!(circuit.kind, CircuitKind::Engine | CircuitKind::Main)
            || (circuit.kind == CircuitKind::Charge && circuit.intent.starts_with("engine"))
    };
    system
        .conductors
        .iter()
        .filter(|conductor| !conductor.is_internal)
        .filter(|conductor| matches!(conductor.pole, Pole::Positive | Pole::Negative))
        .filter(|conductor| system.circuits.get(conductor.circuit).is_some_and(on_the_way))
        .filter_map(|conductor| {
            let per_km = reference.resistance_20c(conductor.gauge, conductor.tinned).ok()?.value;
            Some((per_km * conductor.length).get())
        })
        .sum()
}

fn supply(system: &System, floor: f64, usable: f64) -> SupplyPlant {
    let used = &system.usage.supply;
    let (mut amps, mut through, mut shore_w, mut generator_w) = (0.0, 0.0, 0.0, 0.0);
    for device in &system.devices {
        match &device.spec {
            Spec::Charger(part, setting) => {
                amps += setting.current.get();
                through += setting.current.get() * part.efficiency.get();
            }
            Spec::Inverter(part, Some(setting)) => {
                amps += setting.current.get();
                // Its charger is the inverter run backwards.
                through += setting.current.get() * part.efficiency_full.get();
            }
            Spec::Inlet(inlet) => shore_w += inlet.part.voltage.get() * inlet.part.current.get(),
            Spec::Generator(part) => generator_w += part.power.get(),
            _ => {}
        }
    }
    SupplyPlant {
        amps,
        efficiency: if amps > 0.0 { (through / amps).clamp(0.05, 1.0) } else { 1.0 },
        shore_w,
        generator_w,
        generator_hours: used.generator.get(),
        // Started before anything must be given up, stopped before the slow end of charging; common practice, no source.
        generator_start: used.generator_start.map_or(floor + 0.25 * usable, |share| share.get()),
        generator_stop: used.generator_stop.map_or(0.9, |share| share.get()),
        generator_may: hours_between(used.generator_from.minutes(), used.generator_until.minutes()),
    }
}

/// Share of each hour between two times of day.
fn hours_between(from: u16, until: u16) -> [f64; 24] {
    let (from, until) = (f64::from(from), f64::from(until));
    let until = if until > from { until } else { until + 1440.0 };
    let mut hours = [0.0; 24];
    for (hour, share) in hours.iter_mut().enumerate() {
        let start = hour as f64 * 60.0;
        let inside = |start: f64| ((start + 60.0).min(until) - start.max(from)).max(0.0) / 60.0;
        *share = (inside(start) + inside(start + 1440.0)).min(1.0);
    }
    hours
}

/// Loss beside idle, weighted by what each AC load takes, at the power at which that load runs.
fn inverter_share(system: &System, inverter: &InverterLoss) -> f64 {
    let (mut energy, mut lost) = (0.0, 0.0);
    for device in &system.devices {
        if let Spec::Load(load) = &device.spec
            && load.supply == model::parts::Supply::Ac
        {
            let wh = load.habit.energy.get() + load.standby.get() * 24.0;
            energy += wh;
            lost += wh * inverter.share(load.power.get().min(inverter.rated_w));
        }
    }
    if energy > 0.0 { lost / energy } else { 0.0 }
}

fn standing(system: &System) -> f64 {
    system
        .devices
        .iter()
        .map(|device| match &device.spec {
            Spec::Controller(part, _) => part.idle.get(),
            Spec::Shunt(part) => part.idle.get(),
            Spec::Converter(part) => part.idle.get(),
            _ => 0.0,
        })
        .sum()
}

/// Engine running and shore power by the hour: each stay or drive as long as the mean asks, on days in use.
fn there(system: &System, needs: &Needs) -> Vec<[f32; 2]> {
    let mut there = vec![[0.0_f32; 2]; HOURS];
    let usage = &system.usage;
    if let Some(engine) = &usage.engine {
        lay(&mut there, 0, needs, engine.driving.get(), engine.every, engine.from.minutes());
    }
    let supply = &usage.supply;
    lay(&mut there, 1, needs, supply.shore.get(), supply.shore_every, supply.shore_from.minutes());
    there
}

fn lay(there: &mut [[f32; 2]], what: usize, needs: &Needs, mean_hours: f64, every: u32, from: u16) {
    let every = every.max(1);
    let length = (mean_hours * f64::from(every)).min(f64::from(every) * 24.0);
    if length <= 0.0 {
        return;
    }
    // A stretch that would run into the next day begins earlier, as far as the day allows.
    let start = (f64::from(from) / 60.0).min((24.0 - length).max(0.0));
    let mut since = 0;
    for day in (0..DAYS).filter(|day| needs.used[*day]) {
        since += 1;
        if since < every {
            continue;
        }
        since = 0;
        // A stay of several days ends on this day.
        let end = (day * 24) as f64 + start + length.min(24.0);
        let begin = (end - length).max(0.0);
        let first = begin.floor() as usize;
        for (there, hour) in there.iter_mut().skip(first).zip(first..end.ceil() as usize) {
            let share = (end.min(hour as f64 + 1.0) - begin.max(hour as f64)).clamp(0.0, 1.0);
            there[what] = (there[what] + share as f32).min(1.0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // The loss model through idle and two efficiencies must give those efficiencies back; arithmetic.
    #[test]
    fn the_inverters_two_efficiencies_come_out() {
        let part = model::library::builtin()
            .inverter
            .values()
            .find(|part| part.efficiency_quarter > part.efficiency_full)
            .expect("an inverter");
        let loss = InverterLoss::of(part);
        for (share, stated) in [(0.25, part.efficiency_quarter), (1.0, part.efficiency_full)] {
            let out = loss.rated_w * share;
            let efficiency = out / (out + loss.idle_w + loss.share(out) * out);
            assert!((efficiency - stated.get()).abs() < 1e-9, "{share}: {efficiency} against {stated}");
        }
    }

    #[test]
    fn a_quiet_night_is_the_other_hours() {
        let (day, night) = (hours_between(480, 1200), hours_between(1200, 480));
        for hour in 0..24 {
            assert_eq!(day[hour] + night[hour], 1.0, "{hour}");
        }
    }
}
