//! Readings with the bank connected: rest voltage, and volts, drops and currents in each state.
//! Never: holds a figure of a chemistry; those are `reference`'s.
//! Start at [`network`].

use model::parts::{Chemistry, Supply};
use model::{Circuit, CircuitKind, ConductorIx, DeviceIx, Pole, Spec, System, TerminalRef};
use quantity::{Fraction, Volts};
use reference::Reference;

use crate::expected::{Draft, Expected, Kind, Stage};
use crate::measure::Unit;
use crate::twin::{Moment, Path, Probe, Twin, bank_ends, bars};

/// State of charge of a bank that is new or in use: least without a study, most. Common practice, no source.
const LEAST_CHARGE: f64 = 0.3;
/// A hand meter on DC volts: share of the reading, and volts. Common practice, no source.
const METER_SHARE: f64 = 0.005;
const METER_V: f64 = 0.02;
/// How far a drop may be off: copper at 20 °C is a fifth below working temperature, lugs, fuses and lengths vary,
/// and loads take a sixth more or less than their plates say. Common practice, no source.
const DROP_LOW: f64 = 0.5;
const DROP_HIGH: f64 = 1.4;
const DROP_V: f64 = 0.003;
/// How far a current may be off: loads and a clamp meter. Common practice, no source.
const AMPS_SHARE: f64 = 0.2;
const AMPS_A: f64 = 0.15;
const LIVE: &str =
    "Live: large batteries burn and weld. Rings and watch off, probes insulated to the tip, one at a time.";

/// Cells in series of a battery.
pub(crate) fn cells(chemistry: Chemistry, volts: Volts) -> f64 {
    let nominal = Reference::standard().chemistry(chemistry.word()).map_or(2.0, |row| row.nominal.get());
    (volts.get() / nominal).round().max(1.0)
}

/// Rest voltage of so many cells: least at a low charge, typical when nearly full, most when full, with the source.
pub(crate) fn rest_range(chemistry: Chemistry, cells: f64, low_charge: f64) -> ([f64; 3], String) {
    let at = |soc: f64| Reference::standard().rest_voltage(chemistry.word(), Fraction::new(soc));
    match (at(low_charge), at(0.8), at(1.0)) {
        (Some(low), Some(typical), Some(full)) => (
            [low.value.least, typical.value.typical, full.value.most].map(|volts| volts.get() * cells),
            full.cite.to_string(),
        ),
        _ => ([0.0, 0.0, 0.0], String::new()),
    }
}

/// Least, usual and most voltage of the bank at rest.
pub(crate) fn bank_range(system: &System, low_charge: f64) -> ([f64; 3], String) {
    let Some(bank) = &system.bank else { return ([0.0; 3], String::new()) };
    let battery = bank.batteries.first().and_then(|ix| system.devices.get(*ix));
    match battery.map(|device| &device.spec) {
        Some(Spec::Battery(battery)) => {
            let count = cells(bank.chemistry, battery.part.voltage) * f64::from(bank.series.max(1));
            rest_range(bank.chemistry, count, low_charge)
        }
        _ => ([0.0; 3], String::new()),
    }
}

/// Each battery and the bank, at rest.
pub(crate) fn rest(system: &System, list: &mut Vec<Expected>) {
    let Some(bank) = &system.bank else { return };
    let mut push = |id: &str, title: String, probes: String, rest: ([f64; 3], String), stage: Stage| {
        let (range, cite) = rest;
        let mut expected = Draft {
            id: format!("rest:{id}"),
            title,
            how: format!(
                "Meter on DC volts, {probes}. Lead-acid: six hours after the last charge or load; lithium: half an hour"
            ),
            stage,
            kind: Kind::Rest,
            unit: Unit::Volts,
            range: [range[0] * (1.0 - METER_SHARE), range[1], range[2] * (1.0 + METER_SHARE)],
            why_wide: format!(
                "From {:.0} % charged to full, the spread of the printed tables, and 0.5 % for the meter (common practice, no source)",
                LEAST_CHARGE * 100.0
            ),
        }
        .expect();
        expected.because = vec![cite];
        expected.caution = Some(LIVE.to_owned());
        match system.find(id) {
            Some(ix) => {
                expected.devices = vec![id.to_owned()];
                expected.about = Some(ix);
            }
            None => expected.devices = names(system, &bank.batteries),
        }
        list.push(expected);
    };
    for ix in &bank.batteries {
        let Some(device) = system.devices.get(*ix) else { continue };
        let Spec::Battery(battery) = &device.spec else { continue };
        push(
            &device.id,
            format!("{} at rest, not yet joined to the others", device.title),
            "red on its positive post, black on its negative post, its links open".to_owned(),
            rest_range(bank.chemistry, cells(bank.chemistry, battery.part.voltage), LEAST_CHARGE),
            Stage::Dead,
        );
    }
    let Some((plus, minus)) = bank_ends(system) else { return };
    let (red, black) = (system.terminal_name(plus), system.terminal_name(minus));
    push(
        "bank",
        "The whole bank at rest".to_owned(),
        format!("red on {red}, black on {black}, main disconnect open"),
        bank_range(system, LEAST_CHARGE),
        Stage::FirstPower,
    );
}

fn names(system: &System, devices: &[DeviceIx]) -> Vec<String> {
    devices.iter().filter_map(|ix| system.devices.get(*ix)).map(|device| device.id.clone()).collect()
}

/// Volts, drops and currents in every state.
pub(crate) fn network(
    system: &System,
    study: Option<&energy::Study>,
    twins: &[Twin],
    list: &mut Vec<Expected>,
) {
    let low_charge = study.map_or(LEAST_CHARGE, |study| study.floor.clamp(0.1, LEAST_CHARGE));
    let (range, cite) = bank_range(system, low_charge);
    for twin in twins {
        let solutions = range.map(|bank_v| twin.solve(bank_v, crate::twin::Change::Nothing));
        let [Some(low), Some(typical), Some(high)] = &solutions else { continue };
        let mut writer =
            Writer { system, twin, list, solved: [low, typical, high], bank: range, cite: &cite };
        writer.places();
        if twin.moment != Moment::Off {
            writer.currents();
        }
        if matches!(twin.moment, Moment::EverythingOn | Moment::Charging) {
            writer.drops();
        }
    }
}

struct Writer<'w> {
    system: &'w System,
    twin: &'w Twin,
    list: &'w mut Vec<Expected>,
    solved: [&'w network::Solution; 3],
    /// Bank at rest: least, usual, most [V].
    bank: [f64; 3],
    cite: &'w str,
}

impl Writer<'_> {
    fn stage(&self) -> Stage {
        match self.twin.moment {
            Moment::Off => Stage::FirstPower,
            Moment::Charging => Stage::Charging,
            _ => Stage::Loads,
        }
    }

    fn read(&self, probe: Probe) -> Option<[f64; 3]> {
        let mut read = [0.0; 3];
        for (value, solution) in read.iter_mut().zip(self.solved) {
            *value = self.twin.read(solution, probe)?;
        }
        Some(read)
    }

    fn places(&mut self) {
        let moment = self.twin.moment;
        let mut places: Vec<(TerminalRef, TerminalRef)> = Vec::new();
        places.extend(bank_ends(self.system));
        places.extend(bars(self.system));
        for (ix, device) in self.system.devices.iter().enumerate() {
            let wanted = match &device.spec {
                Spec::Load(load) => {
                    load.supply == Supply::Dc
                        && match moment {
                            Moment::EverythingOn => true,
                            Moment::Starting => load.lowest_start.is_some() || load.critical,
                            Moment::Night => self.twin.has_power(ix),
                            _ => false,
                        }
                }
                Spec::FusePanel(_) | Spec::Inverter(..) => true,
                Spec::Controller(..) | Spec::DcDc(..) | Spec::Charger(..) => {
                    matches!(moment, Moment::Off | Moment::Charging)
                }
                Spec::Converter(_) => moment != Moment::Charging,
                _ => false,
            };
            if let (true, Some(ends)) = (wanted, ends(self.system, ix)) {
                places.push(ends);
            }
        }
        for (plus, minus) in places {
            self.place(plus, minus);
        }
    }

    fn place(&mut self, plus: TerminalRef, minus: TerminalRef) {
        let moment = self.twin.moment;
        let Some([mut low, typical, mut high]) = self.read(Probe::Volts(plus, minus)) else { return };
        if typical < 1.0 {
            return;
        }
        let lost = (self.bank[1] - typical).abs().min(typical);
        let slack = METER_SHARE * typical + METER_V + 0.4 * lost;
        (low, high) = (low.min(typical) - slack, high.max(typical) + slack);
        let device = self.system.devices.get(plus.device);
        if moment == Moment::Charging {
            high = high.max(self.absorption() + slack);
        }
        let (red, black) = (self.system.terminal_name(plus), self.system.terminal_name(minus));
        let mut expected = Draft {
            id: format!("volts:{}:{red}", moment.word()),
            title: format!("Volts at {} ({})", device.map_or("", |device| &device.title), words(moment)),
            how: format!("{}. Meter on DC volts, red on {red}, black on {black}; a minus sign means swapped leads", moment.state()),
            stage: self.stage(),
            kind: Kind::Volts,
            unit: Unit::Volts,
            range: [low, typical, high],
            why_wide: format!(
                "The bank stands between {:.2} V and {:.2} V by its charge; 0.5 % and 0.02 V for the meter, and the way there may \
                 lose 40 % more or less (common practice, no source)",
                self.bank[0], self.bank[2]
            ),
        }
        .expect();
        expected.because = vec![
            format!("bank at rest {:.2} V: {}", self.bank[1], self.cite),
            format!("{lost:.3} V between the bank at rest and here, from the network in this state"),
        ];
        expected.caution = Some(LIVE.to_owned());
        expected.devices = device.iter().map(|device| device.id.clone()).collect();
        expected.moment = Some(moment);
        expected.probes = vec![red, black];
        expected.probe = Some(Probe::Volts(plus, minus));
        expected.about = Some(plus.device);
        expected.sigma = 0.002 * typical + 0.01 + 0.1 * lost;
        self.list.push(expected);
    }

    fn absorption(&self) -> f64 {
        let settings = self.system.devices.iter().filter_map(|device| match &device.spec {
            Spec::Charger(_, setting) | Spec::DcDc(_, setting) | Spec::Controller(_, setting) => {
                Some(setting.absorption.get())
            }
            _ => None,
        });
        settings.fold(0.0, f64::max)
    }

    fn currents(&mut self) {
        let moment = self.twin.moment;
        for (ix, device) in self.system.devices.iter().enumerate() {
            let (wanted, how) = match &device.spec {
                Spec::Shunt(_) => {
                    (true, "read the battery monitor, or a DC clamp round the cable at the shunt")
                }
                Spec::Load(load) => (
                    load.supply == Supply::Dc && moment == Moment::EverythingOn,
                    "DC clamp round its positive conductor alone",
                ),
                Spec::Inverter(..) => {
                    (moment != Moment::Charging, "DC clamp round its positive conductor alone")
                }
                Spec::Fuse(_) => (
                    matches!(moment, Moment::Night | Moment::EverythingOn) && self.is_feeder(ix),
                    "DC clamp round the feeder's positive conductor alone",
                ),
                Spec::Controller(..) | Spec::DcDc(..) | Spec::Charger(..) => (
                    moment == Moment::Charging,
                    "DC clamp round its positive output conductor alone, in full sun or with the engine at cruising speed",
                ),
                _ => (false, ""),
            };
            if !wanted {
                continue;
            }
            let Some([one, typical, other]) = self.read(Probe::Amps(ix)) else { continue };
            let sign = if typical < 0.0 { -1.0 } else { 1.0 };
            let is_source = matches!(device.spec, Spec::Controller(..) | Spec::DcDc(..) | Spec::Charger(..));
            let slack = AMPS_SHARE * typical.abs() + AMPS_A;
            // The sun is seldom full and a nearly full bank takes little: only too much is wrong for certain.
            let least = if moment == Moment::Charging {
                if is_source { typical * 0.3 } else { typical.min(0.0) - slack }
            } else {
                one.min(other).min(typical) - slack
            };
            let most = if moment == Moment::Charging && !is_source {
                typical.max(0.0) + slack
            } else {
                one.max(other).max(typical) + slack
            };
            let mut expected = Draft {
                id: format!("amps:{}:{}", moment.word(), device.id),
                title: format!("Current of {} ({})", device.title, words(moment)),
                how: format!(
                    "{}. Clamp zeroed first; {how}. {}",
                    moment.state(),
                    if sign < 0.0 { "Expected with a minus sign" } else { "Positive in its usual direction" }
                ),
                stage: self.stage(),
                kind: Kind::Amps,
                unit: Unit::Amps,
                range: [least, typical, most],
                why_wide: "A fifth for what loads take against their plates and the clamp, 0.15 A for its zero (common practice, no source)"
                    .to_owned(),
            }
            .expect();
            expected.because =
                vec![format!("from the network in this state, bank at {:.2} V at rest", self.bank[1])];
            expected.devices = vec![device.id.clone()];
            expected.moment = Some(moment);
            expected.probe = Some(Probe::Amps(ix));
            expected.about = Some(ix);
            expected.sigma = 0.06 * typical.abs() + 0.05;
            self.list.push(expected);
        }
    }

    fn is_feeder(&self, fuse: DeviceIx) -> bool {
        self.system
            .circuits
            .iter()
            .any(|circuit| circuit.kind == CircuitKind::Feeder && circuit.protection.contains(&fuse))
    }

    fn drops(&mut self) {
        let moment = self.twin.moment;
        for (index, circuit) in self.system.circuits.iter().enumerate() {
            let wanted = match circuit.kind {
                CircuitKind::Charge | CircuitKind::Engine => moment == Moment::Charging,
                CircuitKind::BankLink
                | CircuitKind::Main
                | CircuitKind::Feeder
                | CircuitKind::Branch
                | CircuitKind::Inverter
                | CircuitKind::Converter => moment == Moment::EverythingOn,
                _ => false,
            };
            if !wanted || circuit.supply == Supply::Ac {
                continue;
            }
            for (pole, side) in [(Pole::Positive, "positive-side"), (Pole::Negative, "negative-side")] {
                if let Some((from, to)) = way(self.system, index, pole) {
                    let what = format!("{} of {}", side.replace('-', " "), circuit.title);
                    self.drop(
                        &format!("{}.{side}", circuit.id),
                        &what,
                        from,
                        to,
                        &on(self.system, index, pole),
                    );
                }
            }
            if circuit.kind != CircuitKind::Branch {
                self.pieces(index, circuit);
            }
        }
    }

    fn pieces(&mut self, index: usize, circuit: &Circuit) {
        for (ix, conductor) in self.system.conductors.iter().enumerate() {
            if conductor.circuit == index && !conductor.is_internal && !conductor.pole.is_ac() {
                let what = format!("cable {} with its two lugs", conductor.id);
                self.drop(&conductor.id, &what, conductor.from, conductor.to, &[ix]);
            }
        }
        for ix in &circuit.protection {
            let Some(device) = self.system.devices.get(*ix) else { continue };
            let terminal = |name: &str| {
                let terminal = device.terminals.iter().position(|terminal| terminal.name == name)?;
                Some(TerminalRef { device: *ix, terminal })
            };
            if let (Some(from), Some(to)) = (terminal("in"), terminal("out")) {
                self.drop(&device.id, &format!("{} from stud to stud", device.title), from, to, &[]);
            }
        }
    }

    fn drop(&mut self, id: &str, what: &str, from: TerminalRef, to: TerminalRef, along: &[ConductorIx]) {
        let moment = self.twin.moment;
        let Some([one, typical, other]) = self.read(Probe::Volts(from, to)) else { return };
        // Charging turns the current of most ways round; the sign tells nothing that the current does not.
        let (from, to, typical) = if typical < 0.0 { (to, from, -typical) } else { (from, to, typical) };
        if typical < 0.0002 {
            return;
        }
        let (least, most) =
            (one.abs().min(other.abs()).min(typical), one.abs().max(other.abs()).max(typical));
        let (red, black) = (self.system.terminal_name(from), self.system.terminal_name(to));
        let low = if moment == Moment::Charging { 0.0 } else { least * DROP_LOW };
        let mut expected = Draft {
            id: format!("drop:{}:{id}", moment.word()),
            title: format!("Drop along {what} ({})", words(moment)),
            how: format!(
                "{}. Meter on DC millivolts, red on {red}, black on {black}, tips on the studs and not on the lugs. Feel each \
                 joint with the back of the hand: one that is warmer than its cable is bad",
                moment.state()
            ),
            stage: self.stage(),
            kind: Kind::Drop,
            unit: Unit::Volts,
            range: [low - DROP_V, typical, most * DROP_HIGH + DROP_V],
            why_wide: "Half to 1.4 times: copper at 20 °C is a fifth below its working temperature, lugs, fuses and lengths vary, loads \
                       take more or less than their plates say; 3 mV for the meter (common practice, no source)"
                .to_owned(),
        }
        .expect();
        expected.because = along
            .iter()
            .filter_map(|ix| {
                let conductor = self.system.conductors.get(*ix)?;
                let ohms = self.twin.ohms(Path::Conductor(*ix))?;
                let amps = self.twin.amps(self.solved[1], Path::Conductor(*ix))?;
                Some(format!(
                    "{}: {:.3} mΩ with its lugs x {:.2} A = {:.1} mV ({} of {})",
                    conductor.id,
                    ohms * 1e3,
                    amps.abs(),
                    ohms * amps.abs() * 1e3,
                    conductor.length,
                    conductor.gauge
                ))
            })
            .collect();
        expected.caution = Some(LIVE.to_owned());
        expected.devices = names(self.system, &[from.device, to.device]);
        expected.conductors =
            along.iter().filter_map(|ix| self.system.conductors.get(*ix)).map(|c| c.id.clone()).collect();
        expected.moment = Some(moment);
        expected.probes = vec![red, black];
        expected.probe = Some(Probe::Volts(from, to));
        expected.sigma = 0.1 * typical + 0.0015;
        self.list.push(expected);
    }
}

fn words(moment: Moment) -> &'static str {
    match moment {
        Moment::Off => "everything off",
        Moment::Night => "at night",
        Moment::EverythingOn => "everything on",
        Moment::Starting => "while the largest load starts",
        Moment::Charging => "charging",
    }
}

/// Positive and negative terminal of a device.
pub(crate) fn ends(system: &System, ix: DeviceIx) -> Option<(TerminalRef, TerminalRef)> {
    let device = system.devices.get(ix)?;
    let terminal = |name: &str| {
        let terminal = device.terminals.iter().position(|terminal| terminal.name == name)?;
        Some(TerminalRef { device: ix, terminal })
    };
    Some((terminal("positive")?, terminal("negative")?))
}

/// Conductors of a circuit and pole.
fn on(system: &System, circuit: usize, pole: Pole) -> Vec<ConductorIx> {
    let is = |conductor: &model::Conductor| conductor.circuit == circuit && conductor.pole == pole;
    (0..system.conductors.len()).filter(|ix| system.conductors.get(*ix).is_some_and(is)).collect()
}

/// First and last terminal of a circuit's pole, where it is one way without branches.
fn way(system: &System, circuit: usize, pole: Pole) -> Option<(TerminalRef, TerminalRef)> {
    let conductors: Vec<&model::Conductor> =
        on(system, circuit, pole).into_iter().filter_map(|ix| system.conductors.get(ix)).collect();
    let starts: Vec<TerminalRef> = conductors
        .iter()
        .map(|conductor| conductor.from)
        .filter(|from| conductors.iter().all(|other| other.to.device != from.device))
        .collect();
    let stops: Vec<TerminalRef> = conductors
        .iter()
        .map(|conductor| conductor.to)
        .filter(|to| conductors.iter().all(|other| other.from.device != to.device))
        .collect();
    match (starts.as_slice(), stops.as_slice()) {
        // A way of one cable is read as that cable.
        ([from], [to]) if conductors.len() > 1 || pole == Pole::Negative => Some((*from, *to)),
        _ => None,
    }
}
