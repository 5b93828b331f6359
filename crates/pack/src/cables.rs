//! The cable schedule: every conductor that is cut and laid, with its ends, its fuse and its loss.
//! Never: lists links inside an assembly, or sizes anything.
//! Start at [`cables`]; [`to_buy`] sums what to order.

use std::collections::BTreeMap;

use model::parts::{Library, Supply};
use model::{Circuit, CircuitKind, Conductor, ConductorIx, Pole, Spec, System, TerminalRef};
use network::Results;
use quantity::{Amps, Fraction, Gauge, Metres, Volts};
use reference::{Cited, Colour, ColourRole, Insulation, Provenance, Reference, RuleSet};
use rules::LugPlace;
use serde::Serialize;

use crate::ends::Fitting;
use crate::table::{Cell, Table, numbers, words};

/// Metres in a foot, exact by definition.
pub const FOOT: f64 = 0.3048;

/// One end of a cable.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CableEnd {
    /// The device's id.
    pub device: String,
    /// What the device is called.
    pub title: String,
    /// The terminal.
    pub terminal: String,
    /// How the end is made up.
    pub fitting: Fitting,
    /// Where its lug lies, where several share the terminal.
    pub place: Option<LugPlace>,
}

/// One row of the cable schedule.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CableRow {
    /// Run number, on drawing and label.
    pub number: u32,
    /// The conductor's id.
    pub id: String,
    /// The circuit's id.
    pub circuit: String,
    /// What the circuit is called.
    pub title: String,
    /// The end nearer the source.
    pub from: CableEnd,
    /// The other end.
    pub to: CableEnd,
    /// What it carries.
    pub pole: Pole,
    /// Size.
    pub gauge: Gauge,
    /// Cores in its sheath.
    pub cores: u32,
    /// Insulation rating.
    pub insulation: Insulation,
    /// Whether the strands are tinned.
    pub tinned: bool,
    /// Whether it is drawn into a sheath or conduit from end to end; a core of a cable has its own.
    pub is_sheathed: bool,
    /// Colour by rule set, with its letter.
    pub colour: Colour,
    /// Document behind the colour.
    pub colour_source: (&'static str, Provenance),
    /// Length, one way.
    pub length: Metres,
    /// Length to cut, with slack.
    pub length_cut: Metres,
    /// Protective devices of its circuit: `galley.fuse 30 A`.
    pub protected_by: Vec<String>,
    /// The hottest zone on its way.
    pub zone: String,
    /// Largest steady current of its circuit; of a link between batteries its own.
    pub current: Amps,
    /// Volts lost in it at that current; `None` where the study knows no resistance or it carries no current.
    pub drop: Option<Volts>,
    /// The same as a share of the circuit's voltage.
    pub drop_share: Option<Fraction>,
    /// Cable of the library.
    pub cable: Option<String>,
}

/// The cable schedule, by run number and then by id.
pub fn cables(system: &System, library: &Library, results: &Results) -> Vec<CableRow> {
    let places = rules::stacks(system, results).places();
    let mut rows: Vec<CableRow> = system
        .conductors
        .iter()
        .enumerate()
        .filter(|(_, conductor)| !conductor.is_internal)
        .map(|(ix, conductor)| row(system, library, results, ix, conductor, &places))
        .collect();
    rows.sort_by(|a, b| (a.number, &a.id).cmp(&(b.number, &b.id)));
    rows
}

fn row(
    system: &System,
    library: &Library,
    results: &Results,
    ix: usize,
    conductor: &Conductor,
    places: &BTreeMap<(TerminalRef, ConductorIx), LugPlace>,
) -> CableRow {
    let circuit = system.circuits.get(conductor.circuit);
    // Links between batteries share the current of their circuit, each by its resistance: the study knows how.
    let current = circuit.map_or(Amps::zero(), |circuit| match circuit.kind {
        CircuitKind::BankLink => results.largest_steady(ix),
        _ => circuit.current_steady,
    });
    let carries = conductor.pole.carries_current();
    // The main is sized for the inverter's rating at its lowest input; what is lost there is counted at what runs together.
    let flowing = match circuit.map(|circuit| circuit.kind) {
        Some(CircuitKind::Main) if results.largest_steady(ix) > Amps::zero() => results.largest_steady(ix),
        _ => current,
    };
    let drop = results.resistances.get(ix).filter(|_| carries).map(|resistance| flowing * *resistance);
    let voltage = circuit.map_or(system.voltage, |circuit| circuit.voltage);
    let is_ac = circuit.is_some_and(|circuit| circuit.supply == Supply::Ac);
    let colour = colour(system.rules, conductor.pole, is_ac);
    CableRow {
        number: conductor.number,
        id: conductor.id.clone(),
        circuit: circuit.map_or_else(String::new, |circuit| circuit.id.clone()),
        title: circuit.map_or_else(String::new, |circuit| circuit.title.clone()),
        from: end(system, library, conductor, conductor.from, places.get(&(conductor.from, ix)).copied()),
        to: end(system, library, conductor, conductor.to, places.get(&(conductor.to, ix)).copied()),
        pole: conductor.pole,
        gauge: conductor.gauge,
        cores: conductor.cores,
        insulation: conductor.insulation,
        tinned: conductor.tinned,
        is_sheathed: conductor.sheathed && conductor.cores == 1,
        colour: colour.value,
        colour_source: (colour.cite.source, colour.cite.provenance),
        length: conductor.length,
        length_cut: conductor.length * (1.0 + system.slack.get()),
        protected_by: circuit
            .filter(|_| carries)
            .map_or_else(Vec::new, |circuit| protection(system, circuit)),
        zone: system.zones.get(conductor.zone).map_or_else(String::new, |zone| zone.id.clone()),
        current,
        drop,
        drop_share: drop.filter(|_| voltage > Volts::zero()).map(|drop| Fraction::new(drop / voltage)),
        cable: conductor.cable.clone(),
    }
}

fn end(
    system: &System,
    library: &Library,
    conductor: &Conductor,
    at: TerminalRef,
    place: Option<LugPlace>,
) -> CableEnd {
    let device = system.devices.get(at.device);
    CableEnd {
        device: device.map_or_else(|| "?".to_owned(), |device| device.id.clone()),
        title: device.map_or_else(|| "?".to_owned(), |device| device.title.clone()),
        terminal: system.terminal(at).map_or_else(|| "?".to_owned(), |terminal| terminal.name.clone()),
        fitting: Fitting::of(system, library, conductor, at),
        place,
    }
}

/// Colour of a pole: an earth of an AC circuit is protective earth, any other is a bond.
pub fn colour(rules: RuleSet, pole: Pole, is_ac: bool) -> Cited<Colour> {
    let role = match pole {
        Pole::Positive => ColourRole::DcPositive,
        Pole::Negative => ColourRole::DcNegative,
        Pole::Line => ColourRole::Line1,
        Pole::Line2 => ColourRole::Line2,
        Pole::Neutral => ColourRole::Neutral,
        Pole::Earth if is_ac => ColourRole::ProtectiveEarth,
        Pole::Earth => ColourRole::Bonding,
    };
    Reference::standard().conductor_colour(rules, role)
}

/// The protective devices of a circuit with their ratings, source end first.
pub fn protection(system: &System, circuit: &Circuit) -> Vec<String> {
    let devices = circuit.protection.iter().filter_map(|ix| system.devices.get(*ix));
    devices
        .map(|device| match &device.spec {
            Spec::Fuse(fuse) => format!("{} {}", device.id, fuse.rating),
            Spec::Breaker(breaker) => format!("{} {}", device.id, breaker.part.current),
            _ => device.id.clone(),
        })
        .collect()
}

/// Cable of one kind to order.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CableToBuy {
    /// Part of the library; `None` where none fits.
    pub cable: Option<String>,
    /// In words, for where there is no part.
    pub what: String,
    /// Sum of all cut lengths; the cores of one sheath count once.
    pub cut: Metres,
    /// The runs it is for.
    pub runs: Vec<u32>,
}

/// What identifies a kind of cable: its part, or its facts where there is none.
type CableKey = (Option<String>, String);

/// Cable by kind. The cores of one sheath share a run number and are bought once: of each run the longest pole counts.
pub fn to_buy(rows: &[CableRow]) -> Vec<CableToBuy> {
    let mut kinds: BTreeMap<CableKey, Vec<&CableRow>> = BTreeMap::new();
    for row in rows {
        let tinned = if row.tinned { ", tinned" } else { "" };
        let what = format!("{}-core cable {}, insulation {}{tinned}", row.cores, row.gauge, row.insulation);
        let what = if row.cable.is_some() { String::new() } else { what };
        kinds.entry((row.cable.clone(), what)).or_default().push(row);
    }
    let sum = |((cable, what), rows): (CableKey, Vec<&CableRow>)| {
        let mut cut = Metres::zero();
        let mut sheaths: BTreeMap<u32, BTreeMap<Pole, Metres>> = BTreeMap::new();
        for row in &rows {
            if row.cores > 1 {
                let pole = sheaths.entry(row.number).or_default().entry(row.pole).or_insert(Metres::zero());
                *pole += row.length_cut;
            } else {
                cut += row.length_cut;
            }
        }
        for poles in sheaths.into_values() {
            cut += poles.into_values().fold(Metres::zero(), Metres::max);
        }
        let mut runs: Vec<u32> = rows.iter().map(|row| row.number).collect();
        runs.sort_unstable();
        runs.dedup();
        CableToBuy { cable, what, cut, runs }
    };
    kinds.into_iter().map(sum).collect()
}

/// The schedule as a table; `na` shows feet beside metres.
pub fn table(rows: &[CableRow], rules: RuleSet) -> Table {
    let is_na = rules == RuleSet::Na;
    let mut columns = vec![
        numbers("run", "Run", "", 0, 6.0),
        words("id", "Conductor", 18.0),
        words("circuit", "Circuit", 18.0),
        words("from", "From", 20.0),
        words("from_terminal", "Terminal", 10.0),
        words("to", "To", 20.0),
        words("to_terminal", "Terminal", 10.0),
        words("pole", "Pole", 9.0),
        words("conductor", "Conductor size", 11.0),
        numbers("cores", "Cores in sheath", "", 0, 8.0),
        words("insulation", "Insulation", 10.0),
        words("tinned", "Tinned", 8.0),
        words("sheath", "In sheath or conduit", 10.0),
        words("colour", "Colour", 10.0),
        words("colour_letter", "Letter", 7.0),
        numbers("length_m", "Length", "m", 2, 9.0),
        numbers("length_cut_m", "Length to cut", "m", 2, 9.0),
    ];
    if is_na {
        columns.push(numbers("length_ft", "Length", "ft", 2, 9.0));
        columns.push(numbers("length_cut_ft", "Length to cut", "ft", 2, 9.0));
    }
    columns.extend([
        words("from_end", "End at from", 18.0),
        numbers("from_strip_mm", "Strip at from", "mm", 0, 8.0),
        numbers("from_torque_nm", "Torque at from", "N·m", 1, 8.0),
        words("to_end", "End at to", 18.0),
        numbers("to_strip_mm", "Strip at to", "mm", 0, 8.0),
        numbers("to_torque_nm", "Torque at to", "N·m", 1, 8.0),
        words("protected_by", "Fuse or breaker", 18.0),
        words("zone", "Hottest zone", 10.0),
        numbers("current_a", "Current", "A", 1, 9.0),
        numbers("drop_v", "Loss in it", "V", 3, 9.0),
        numbers("drop_percent", "Loss in it", "%", 2, 8.0),
        words("cable_part", "Cable", 20.0),
    ]);
    let mut table = Table::new("cables", "Cables", columns);
    for row in rows {
        let mut cells: Vec<Cell> = vec![
            row.number.into(),
            row.id.as_str().into(),
            row.title.as_str().into(),
            place(&row.from).into(),
            row.from.terminal.as_str().into(),
            place(&row.to).into(),
            row.to.terminal.as_str().into(),
            row.pole.word().into(),
            row.gauge.brief().into(),
            row.cores.into(),
            row.insulation.to_string().into(),
            row.tinned.into(),
            if row.is_sheathed { "yes" } else { "" }.into(),
            row.colour.name.as_str().into(),
            row.colour.letter.as_str().into(),
            row.length.get().into(),
            row.length_cut.get().into(),
        ];
        if is_na {
            cells.push((row.length.get() / FOOT).into());
            cells.push((row.length_cut.get() / FOOT).into());
        }
        for end in [&row.from.fitting, &row.to.fitting] {
            cells.push(end.what.as_str().into());
            cells.push(end.strip.map(|strip| strip.get() * 1000.0).into());
            cells.push(end.torque.map(|torque| torque.get()).into());
        }
        cells.extend([
            row.protected_by.join(", ").into(),
            row.zone.as_str().into(),
            row.current.get().into(),
            row.drop.map(|drop| drop.get()).into(),
            row.drop_share.map(|share| share.get() * 100.0).into(),
            Cell::from(row.cable.clone()),
        ]);
        table.push(cells);
    }
    table
}

fn place(end: &CableEnd) -> String {
    if end.title.is_empty() || end.title == end.device {
        end.device.clone()
    } else {
        format!("{} ({})", end.title, end.device)
    }
}
