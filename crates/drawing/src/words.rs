//! What is written beside a device and along a line: title, key rating, run number, conductor, length.
//! Never: places text; computes a size.
//! Start at [`rating`] and [`Run::of`].

use model::parts::{Chemistry, LoadNature, Supply};
use model::{Conductor, ConductorIx, Craft, Device, Pole, Spec, System};
use quantity::Amps;

use crate::scene::Line;
use crate::symbols::Glyph;
use crate::text::{MAIN, wrap};

/// The symbol of a device.
pub fn glyph(system: &System, device: &Device) -> Glyph {
    match &device.spec {
        Spec::Battery(_) | Spec::StartBattery(_) => Glyph::Battery,
        Spec::Busbar(_) => Glyph::Busbar,
        Spec::Fuse(fuse) if fuse.family.starts_with("breaker") => Glyph::Breaker,
        Spec::Fuse(_) => Glyph::Fuse,
        Spec::Breaker(breaker) if breaker.part.residual.is_some() => Glyph::Residual,
        Spec::Breaker(_) => Glyph::Breaker,
        Spec::Disconnect(_) => Glyph::Disconnect,
        Spec::Shunt(_) => Glyph::Shunt,
        Spec::FusePanel(_) | Spec::AcPanel(_) => Glyph::Panel,
        Spec::Load(load) => match load.nature {
            LoadNature::Motor => Glyph::Motor,
            LoadNature::Resistive => Glyph::Heater,
            LoadNature::Electronic => Glyph::Electronic,
        },
        Spec::Inverter(part, _) if part.charge.is_some() => Glyph::InverterCharger,
        Spec::Inverter(..) => Glyph::Inverter,
        Spec::Charger(..) => Glyph::Charger,
        Spec::DcDc(..) | Spec::Converter(_) => Glyph::Converter,
        Spec::Controller(..) => Glyph::Controller,
        Spec::Array(_) => Glyph::Array,
        Spec::Alternator(_) => Glyph::Alternator,
        Spec::Relay(_) => Glyph::Relay,
        Spec::Inlet(_) => Glyph::Inlet,
        Spec::Generator(_) => Glyph::Generator,
        Spec::TransferSwitch(_) => Glyph::Transfer,
        Spec::Chassis if system.craft == Craft::Hut => Glyph::Earth,
        Spec::Chassis => Glyph::Chassis,
    }
}

/// Rating and family of a fuse: `15 A blade`.
fn fuse(rating: Amps, family: &str) -> String {
    let words = match family {
        "blade-mini" => "blade, mini",
        "blade-large" => "blade, large",
        "blade-58v" => "blade, 58 V",
        "bolt-down-m5" => "bolt-down M5",
        "bolt-down-m8" => "bolt-down M8",
        "bolt-in-strip" => "bolt-in strip",
        "stud-block" => "stud block",
        "class-t" => "class T",
        "class-j" => "class J",
        "pv-cylindrical" => "PV cylindrical",
        other if other.starts_with("breaker-dc") => "DC breaker",
        other if other.starts_with("breaker") => "breaker",
        other => &other.replace('-', " "),
    };
    format!("{rating} {words}")
}

/// The word of a chemistry in a rating.
pub fn chemistry(chemistry: Chemistry) -> &'static str {
    match chemistry {
        Chemistry::Lfp => "LFP",
        Chemistry::Agm => "AGM",
        Chemistry::Gel => "gel",
        Chemistry::Flooded => "flooded",
    }
}

/// The key rating of a device, in one or two short lines.
pub fn rating(device: &Device) -> Vec<String> {
    let line = match &device.spec {
        Spec::Battery(battery) | Spec::StartBattery(battery) => format!(
            "{} {} {}",
            battery.part.voltage,
            battery.part.capacity,
            chemistry(battery.part.chemistry)
        ),
        Spec::Busbar(bar) => format!("{}", bar.current),
        Spec::Fuse(at) => fuse(at.rating, &at.family),
        Spec::Breaker(at) => {
            let residual =
                at.part.residual.map(|residual| format!(", {residual} residual")).unwrap_or_default();
            format!("{} {}-pole{residual}", at.part.current, at.part.poles)
        }
        Spec::Disconnect(part) => match part.poles {
            1 => format!("{}", part.current),
            poles => format!("{} {poles}-pole", part.current),
        },
        Spec::Shunt(part) => format!("{} {}", part.current, part.drop),
        Spec::FusePanel(part) => format!("{} {} ways", part.current, part.ways),
        Spec::AcPanel(part) => format!("{} {} ways", part.current, part.ways),
        Spec::Load(load) => {
            let count = if load.count > 1 { format!("{} × ", load.count) } else { String::new() };
            let power = if load.count > 1 { load.power / f64::from(load.count) } else { load.power };
            let start = if load.current_start > load.current_running * 1.2 && load.supply == Supply::Dc {
                format!(", start {}", load.current_start)
            } else {
                String::new()
            };
            format!("{count}{power}, {}{start}", load.current_running)
        }
        Spec::Inverter(part, setting) => {
            let mut lines = vec![format!("{} {} {} Hz", part.power, part.output, part.frequency)];
            if setting.is_some()
                && let Some(charge) = part.charge
            {
                lines.push(format!("charges {charge}"));
            }
            return lines;
        }
        Spec::Charger(part, _) => format!("{} at {}", part.current, part.voltage),
        Spec::DcDc(part, _) => format!("{} to {}, {}", part.input, part.output, part.current),
        Spec::Controller(part, setting) => {
            return vec![
                format!("{}, {}", part.current, if part.tracks { "tracking" } else { "coupling" }),
                format!("charges to {}", setting.absorption),
            ];
        }
        Spec::Array(array) => {
            let layout = match (array.series, array.parallel) {
                (1, 1) => "1 module".to_owned(),
                (series, 1) => format!("{series} in series"),
                (1, parallel) => format!("{parallel} in parallel"),
                (series, parallel) => format!("{series} in series × {parallel}"),
            };
            let count = f64::from(array.series * array.parallel);
            return vec![format!("{}", array.module.power * count), layout];
        }
        Spec::Alternator(part) => format!("{} {}", part.current, part.set_voltage),
        Spec::Relay(part) => format!("{}", part.current),
        Spec::Inlet(inlet) => format!("{} {}", inlet.part.voltage, inlet.part.current),
        Spec::Generator(part) => format!("{} {}", part.power, part.voltage),
        Spec::TransferSwitch(part) => format!("{} {}", part.voltage, part.current),
        Spec::Converter(part) => format!("{} to {}, {}", part.input, part.output, part.current),
        Spec::Chassis => return Vec::new(),
    };
    vec![line]
}

/// Widest line of a name \[mm\].
pub const NAME: f64 = 38.0;

/// Title and rating of a device, broken to the width of a name.
pub fn name(device: &Device) -> Vec<Line> {
    let title = wrap(&device.title, MAIN, true, NAME, 3).into_iter().map(Line::title);
    title.chain(rating(device).into_iter().map(Line::small)).collect()
}

/// What is written along a line that stands for one or more conductors.
pub struct Run {
    /// Its lines; empty for a link inside an assembly.
    pub lines: Vec<Line>,
}

impl Run {
    /// The text of a conductor and of those drawn with it.
    pub fn of(system: &System, conductor: ConductorIx, riding: &[ConductorIx]) -> Run {
        let get = |ix: &ConductorIx| system.conductors.get(*ix);
        let Some(own) = get(&conductor) else { return Run { lines: Vec::new() } };
        let mut numbers: Vec<u32> = Vec::new();
        let mut others: Vec<&Conductor> = Vec::new();
        if own.number > 0 {
            numbers.push(own.number);
        }
        for other in riding.iter().filter_map(get) {
            if other.number > 0 && !numbers.contains(&other.number) {
                let is_like = own.number > 0 && other.gauge == own.gauge && other.length == own.length;
                if is_like {
                    numbers.push(other.number);
                } else if others.iter().all(|known| known.number != other.number) {
                    others.push(other);
                }
            }
        }
        let mut lines = Vec::new();
        if !numbers.is_empty() {
            let lead = numbers.iter().map(u32::to_string).collect::<Vec<_>>().join("/");
            lines.push(Line { lead, ..Line::small(facts(own)) });
        }
        for other in others {
            let word =
                if other.pole == Pole::Positive { String::new() } else { format!(" {}", other.pole.word()) };
            let text = format!("{}{word}", facts(other));
            lines.push(Line { lead: other.number.to_string(), ..Line::small(text) });
        }
        Run { lines }
    }
}

/// Size and length of a conductor: `3 × 10 AWG  2.5 m`.
fn facts(conductor: &Conductor) -> String {
    let cores = if conductor.cores > 1 { format!("{} × ", conductor.cores) } else { String::new() };
    format!("{cores}{}  {}", conductor.gauge.brief(), conductor.length)
}
