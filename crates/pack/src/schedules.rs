//! Every schedule of a system, as typed rows and as tables.
//! Never: computes a size, judges, writes a file.
//! Start at [`Schedules::of`]; [`Schedules::tables`] lays them out for CSV and the workbook.

// long: a list of schedules, a few plain lines for each

use std::collections::BTreeMap;

use energy::Study;
use model::parts::{Library, Supply};
use model::{Assumption, Because, Circuit, CircuitKind, Origin, Spec, System};
use network::Results;
use quantity::{Amps, Fraction, Metres, Volts, WattHoursPerDay, Watts};
use reference::RuleSet;
use rules::Finding;
use serde::Serialize;

use crate::board_holes;
use crate::cables::{self, CableRow};
use crate::crimps;
use crate::cut::cables::{self as cut, CableCut};
use crate::fuses::{self, FuseRow};
use crate::goods::{self, GoodsRow};
use crate::holes::{self, HoleRow};
use crate::labels::{self, Labelling};
use crate::made_ends::{self, EndRow};
use crate::parts_list::{self, PartsList};
use crate::table::{Table, numbers, words};
use crate::wall_holes;
use crate::year::{self, YearRow};

/// One load.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoadRow {
    /// The device's id.
    pub device: String,
    /// What it is called.
    pub title: String,
    /// The circuit that feeds it.
    pub circuit: String,
    /// Kind of supply.
    pub supply: Supply,
    /// How many.
    pub count: u32,
    /// Nominal voltage at its terminals.
    pub voltage: Volts,
    /// Power of all of them while running.
    pub power: Watts,
    /// Running current of all of them.
    pub current_running: Amps,
    /// Current of all of them while one starts.
    pub current_start: Amps,
    /// Standby power of all of them.
    pub standby: Watts,
    /// Mean energy in summer.
    pub energy_summer: WattHoursPerDay,
    /// Mean energy in winter.
    pub energy_winter: WattHoursPerDay,
    /// Whether the smaller voltage-drop limit holds.
    pub critical: bool,
    /// Whether it may run for three hours or more.
    pub continuous: bool,
}

/// One line of the energy plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EnergyRow {
    /// What it is.
    pub what: String,
    /// On a summer day; what comes in is positive, what goes out negative.
    pub summer: WattHoursPerDay,
    /// On a winter day.
    pub winter: WattHoursPerDay,
}

/// One circuit, for the summary.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CircuitRow {
    /// Its id.
    pub id: String,
    /// What it is called.
    pub title: String,
    /// Kind of current.
    pub supply: Supply,
    /// Largest steady current.
    pub current: Amps,
    /// Sizes of its current-carrying conductors, the largest first: `2/0 AWG`.
    pub sizes: Vec<String>,
    /// Longest of its conductors, one way.
    pub length: Metres,
    /// Protective devices with their ratings.
    pub protection: Vec<String>,
    /// Share of the voltage lost in its own conductors, out and back.
    pub drop: Option<Fraction>,
    /// Share of the voltage that may be lost.
    pub drop_limit: Fraction,
}

/// Why one value is what it is.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BecauseRow {
    /// The value's path.
    pub path: String,
    /// The value.
    pub value: String,
    /// The step, with its numbers.
    pub step: String,
    /// What went in, each with its origin.
    pub origins: Vec<String>,
    /// What would have been chosen, where a pin stands instead.
    pub pinned_over: Option<String>,
}

/// Every schedule.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Schedules {
    /// Rule set, which says which units stand side by side.
    pub rules: RuleSet,
    /// Every conductor that is cut and laid.
    pub cables: Vec<CableRow>,
    /// Every protective device.
    pub fuses: Vec<FuseRow>,
    /// What to buy.
    pub parts: PartsList,
    /// From what each cable is cut.
    pub cuts: Vec<CableCut>,
    /// How each end is made up; in JSON it stands with the cables.
    #[serde(skip_serializing)]
    pub ends: Vec<EndRow>,
    /// Holes for cables and inlets.
    pub holes: Vec<HoleRow>,
    /// Holes of the mounting board; empty without one.
    pub board_holes: Vec<board::Hole>,
    /// The vehicle's plan, whose holes take the place of those between zones for the runs that it knows.
    pub vehicle: Option<board::Vehicle>,
    /// Small goods, with spare.
    pub goods: Vec<GoodsRow>,
    /// Every load.
    pub loads: Vec<LoadRow>,
    /// The energy plan.
    pub energy: Vec<EnergyRow>,
    /// A typical year by month; empty without a study.
    pub year: Vec<YearRow>,
    /// Every circuit.
    pub circuits: Vec<CircuitRow>,
    /// How labels are printed.
    #[serde(skip_serializing)]
    pub labelling: Option<Labelling>,
    /// What the person did not say; in JSON it stands in the summary.
    #[serde(skip_serializing)]
    pub assumptions: Vec<Assumption>,
    /// What the rules found; in JSON it stands in the summary.
    #[serde(skip_serializing)]
    pub findings: Vec<Finding>,
    /// Why each value is what it is; left out of JSON, where it would be most of the file.
    #[serde(skip_serializing)]
    pub because: Vec<BecauseRow>,
}

impl Schedules {
    /// The schedules of a system, its study and its findings.
    pub fn of(
        system: &System,
        library: &Library,
        results: &Results,
        study: Option<&Study>,
        findings: &[Finding],
    ) -> Self {
        let cables = cables::cables(system, library, results);
        let ends = made_ends::end_rows(&cables, library);
        let holes = holes::holes(system, &cables, library);
        let labelling = Labelling::usual(system.rules);
        let sheets = sheets(&cables, labelling.as_ref());
        Self {
            rules: system.rules,
            labelling,
            fuses: fuses::fuses(system, results),
            parts: PartsList::of(system, library, &cables),
            cuts: cut::cable_cuts(&cables, library, system.rules),
            goods: goods::goods(&cables, &ends, &holes, system.rules, sheets),
            ends,
            holes,
            board_holes: Vec::new(),
            vehicle: None,
            loads: loads(system),
            energy: energy(system),
            year: study.map(year::rows).unwrap_or_default(),
            circuits: circuits(system, &cables),
            assumptions: system.assumptions.clone(),
            findings: findings.to_vec(),
            because: system.because.iter().map(|(path, because)| because_row(path, because)).collect(),
            cables,
        }
    }

    /// With the holes of a mounting board and what they take.
    pub fn with_board(mut self, layout: &board::Layout) -> Self {
        self.goods.extend(board_holes::goods(&layout.holes));
        self.board_holes = layout.holes.clone();
        self
    }

    /// With the plan of the vehicle: what it knows of a run's holes stands in place of the guess from the zones at its ends.
    pub fn with_vehicle(mut self, vehicle: &board::Vehicle) -> Self {
        let is_known = |run: Option<u32>| vehicle.cables.iter().any(|cable| Some(cable.number) == run);
        let holes: Vec<HoleRow> = self.holes.iter().filter(|hole| !is_known(hole.run)).cloned().collect();
        // Before the goods of a board, which are added to these.
        let mut goods = goods::goods(&self.cables, &self.ends, &holes, self.rules, self.label_sheets());
        goods.extend(wall_holes::goods(&vehicle.holes));
        goods.extend(board_holes::goods(&self.board_holes));
        (self.holes, self.goods, self.vehicle) = (holes, goods, Some(vehicle.clone()));
        self
    }

    /// With another way of printing labels, whose sheets are counted among what is bought. Before board and vehicle.
    pub fn with_labelling(mut self, labelling: &Labelling) -> Self {
        self.labelling = Some(labelling.clone());
        self.goods = goods::goods(&self.cables, &self.ends, &self.holes, self.rules, self.label_sheets());
        self
    }

    fn label_sheets(&self) -> usize {
        sheets(&self.cables, self.labelling.as_ref())
    }

    /// All of them as tables, in the order of the workbook's sheets.
    pub fn tables(&self) -> Vec<Table> {
        let mut tables = vec![
            cables::table(&self.cables, self.rules),
            fuses::table(&self.fuses),
            fuses::spare_table(&self.fuses),
            parts_list::table(&self.parts),
            cut::order_table(&self.cuts, self.rules),
            cut::plan_table(&self.cuts, self.rules),
            made_ends::table(&self.ends),
            crimps::crimp_table(&self.ends),
            crimps::torque_table(&self.ends),
            holes::table(&self.holes),
            wall_holes::table(self.vehicle.as_ref()),
            board_holes::table(&self.board_holes),
            goods::table(&self.goods),
            circuit_table(&self.circuits, self.rules),
            load_table(&self.loads),
            energy_table(&self.energy),
            year::table(&self.year),
            finding_table(&self.findings),
            assumption_table(&self.assumptions),
            because_table(&self.because),
        ];
        if self.year.is_empty() {
            tables.retain(|table| table.name != "year");
        }
        if self.vehicle.is_none() {
            tables.retain(|table| table.name != "wall-holes");
        }
        if self.board_holes.is_empty() {
            tables.retain(|table| table.name != "board-holes");
        }
        tables
    }
}

/// Sheets that the labels of these cables take.
fn sheets(cables: &[CableRow], labelling: Option<&Labelling>) -> usize {
    labelling.map_or(0, |labelling| labelling.sheets(labels::labels(cables).len()))
}

fn loads(system: &System) -> Vec<LoadRow> {
    let mut fed_by: Vec<Option<usize>> = vec![None; system.devices.len()];
    for (ix, circuit) in system.circuits.iter().enumerate() {
        for device in &circuit.serves {
            if let Some(slot) = fed_by.get_mut(*device) {
                *slot = Some(ix);
            }
        }
    }
    let row = |(device, fed_by): (&model::Device, &Option<usize>)| {
        let Spec::Load(load) = &device.spec else { return None };
        let circuit = fed_by.and_then(|ix| system.circuits.get(ix));
        Some(LoadRow {
            device: device.id.clone(),
            title: device.title.clone(),
            circuit: circuit.map_or_else(String::new, |circuit| circuit.title.clone()),
            supply: load.supply,
            count: load.count,
            voltage: load.voltage,
            power: load.power,
            current_running: load.current_running,
            current_start: load.current_start,
            standby: load.standby,
            energy_summer: load.energy_summer,
            energy_winter: load.energy_winter,
            critical: load.critical,
            continuous: load.continuous,
        })
    };
    system.devices.iter().zip(&fed_by).filter_map(row).collect()
}

fn energy(system: &System) -> Vec<EnergyRow> {
    let plan = &system.energy;
    let none = WattHoursPerDay::zero();
    let row = |what: &str, summer, winter| EnergyRow { what: what.to_owned(), summer, winter };
    vec![
        row("need, idle draw in it", none - plan.need_summer, none - plan.need_winter),
        row("sun", plan.sun_summer, plan.sun_winter),
        row("engine", plan.engine, plan.engine),
        row("shore", plan.shore, plan.shore),
        row("generator", plan.generator, plan.generator),
    ]
}

fn circuits(system: &System, cables: &[CableRow]) -> Vec<CircuitRow> {
    let mut of_circuit: BTreeMap<&str, Vec<&CableRow>> = BTreeMap::new();
    for cable in cables.iter().filter(|cable| cable.pole.carries_current()) {
        of_circuit.entry(&cable.circuit).or_default().push(cable);
    }
    let row = |circuit: &Circuit| {
        let own = of_circuit.get(circuit.id.as_str()).map_or(&[][..], Vec::as_slice);
        let mut gauges: Vec<_> = own.iter().map(|cable| cable.gauge).collect();
        gauges.sort();
        gauges.reverse();
        gauges.dedup();
        let losses = own.iter().filter_map(|cable| cable.drop_share);
        CircuitRow {
            id: circuit.id.clone(),
            title: circuit.title.clone(),
            supply: circuit.supply,
            current: circuit.current_steady,
            sizes: gauges.into_iter().map(|gauge| gauge.brief()).collect(),
            length: own.iter().map(|cable| cable.length).fold(Metres::zero(), Metres::max),
            protection: cables::protection(system, circuit),
            // Links between batteries lie side by side as well as in a row, so that no sum means anything.
            drop: losses.reduce(|sum, share| sum + share).filter(|_| circuit.kind != CircuitKind::BankLink),
            drop_limit: circuit.drop_limit,
        }
    };
    system.circuits.iter().map(row).collect()
}

fn because_row(path: &str, because: &Because) -> BecauseRow {
    BecauseRow {
        path: path.to_owned(),
        value: because.value.clone(),
        step: because.step.clone(),
        origins: because
            .inputs
            .iter()
            .map(|input| format!("{} = {} ({})", input.what, input.value, origin(&input.origin)))
            .collect(),
        pinned_over: because.pinned_over.clone(),
    }
}

fn origin(origin: &Origin) -> String {
    match origin {
        Origin::Intent(path) => format!("said at {path}"),
        Origin::Derived(path) => format!("derived: {path}"),
        Origin::Table(cite) => cite.to_string(),
        Origin::Part(path) => format!("part {path}"),
        Origin::Assumed(path) => format!("assumed: {path}"),
        Origin::Practice(rule) => format!("common practice: {rule}"),
    }
}

fn circuit_table(rows: &[CircuitRow], rules: RuleSet) -> Table {
    let is_na = rules == RuleSet::Na;
    let mut columns = vec![
        words("id", "Circuit", 24.0),
        words("title", "Title", 30.0),
        words("supply", "Supply", 8.0),
        numbers("current_a", "Current", "A", 1, 9.0),
        words("conductor", "Conductor size", 18.0),
        numbers("length_m", "Longest conductor", "m", 2, 10.0),
    ];
    if is_na {
        columns.push(numbers("length_ft", "Longest conductor", "ft", 2, 10.0));
    }
    columns.extend([
        words("protection", "Fuse or breaker", 32.0),
        numbers("drop_percent", "Loss in it, out and back", "%", 2, 10.0),
        numbers("drop_limit_percent", "Loss allowed", "%", 1, 9.0),
    ]);
    let mut table = Table::new("circuits", "Circuits", columns);
    for row in rows {
        let mut cells = vec![
            row.id.as_str().into(),
            row.title.as_str().into(),
            row.supply.word().into(),
            row.current.get().into(),
            row.sizes.join(", ").into(),
            row.length.get().into(),
        ];
        if is_na {
            cells.push((row.length.get() / cables::FOOT).into());
        }
        cells.extend([
            row.protection.join(", ").into(),
            row.drop.map(|drop| drop.get() * 100.0).into(),
            (row.drop_limit.get() * 100.0).into(),
        ]);
        table.push(cells);
    }
    table
}

fn load_table(rows: &[LoadRow]) -> Table {
    let columns = vec![
        words("id", "Load", 24.0),
        words("title", "Title", 30.0),
        words("circuit", "Circuit", 28.0),
        words("supply", "Supply", 8.0),
        numbers("count", "How many", "", 0, 8.0),
        numbers("voltage_v", "Voltage", "V", 0, 9.0),
        numbers("power_w", "Power running", "W", 1, 10.0),
        numbers("current_a", "Current running", "A", 2, 10.0),
        numbers("current_start_a", "Current starting", "A", 2, 10.0),
        numbers("standby_w", "Standby", "W", 2, 9.0),
        numbers("summer_wh_day", "Summer day", "Wh/day", 1, 11.0).summed(),
        numbers("winter_wh_day", "Winter day", "Wh/day", 1, 11.0).summed(),
        words("critical", "Critical", 8.0),
        words("continuous", "Three hours or more", 10.0),
    ];
    let mut table = Table::new("loads", "Loads", columns);
    for row in rows {
        table.push(vec![
            row.device.as_str().into(),
            row.title.as_str().into(),
            row.circuit.as_str().into(),
            row.supply.word().into(),
            row.count.into(),
            row.voltage.get().into(),
            row.power.get().into(),
            row.current_running.get().into(),
            row.current_start.get().into(),
            row.standby.get().into(),
            row.energy_summer.get().into(),
            row.energy_winter.get().into(),
            row.critical.into(),
            row.continuous.into(),
        ]);
    }
    table
}

fn energy_table(rows: &[EnergyRow]) -> Table {
    let columns = vec![
        words("what", "Energy at the bank, in positive and out negative", 44.0),
        numbers("summer_wh_day", "Summer day", "Wh/day", 0, 14.0).summed(),
        numbers("winter_wh_day", "Winter day", "Wh/day", 0, 14.0).summed(),
    ];
    let mut table = Table::new("energy", "Energy", columns);
    for row in rows {
        table.push(vec![row.what.as_str().into(), row.summer.get().into(), row.winter.get().into()]);
    }
    table
}

fn finding_table(findings: &[Finding]) -> Table {
    let columns = vec![
        words("severity", "Severity", 9.0),
        words("rule", "Rule", 18.0),
        words("place", "Place", 16.0),
        words("message", "What is wrong", 30.0),
        words("why", "Why it matters", 22.0),
        words("because", "Numbers", 28.0),
        words("mend", "How to mend", 26.0),
        words("answered", "Answer", 18.0),
        words("intent", "In intent.toml", 16.0),
        words("source", "Source", 17.0),
    ];
    let mut table = Table::new("findings", "Findings", columns);
    for finding in findings {
        let mends: Vec<&str> = finding.fixes.iter().map(|fix| fix.what.as_str()).collect();
        let sources: Vec<String> = finding.cite.iter().map(ToString::to_string).collect();
        table.push(vec![
            finding.severity.word().into(),
            finding.rule.into(),
            finding.place.as_str().into(),
            finding.message.as_str().into(),
            finding.why.as_str().into(),
            finding.because.join("; ").into(),
            mends.join("; ").into(),
            finding.answered.clone().into(),
            finding.intent.as_str().into(),
            sources.join("; ").into(),
        ]);
    }
    table
}

fn assumption_table(assumptions: &[Assumption]) -> Table {
    let columns = vec![
        words("path", "Where to say otherwise", 34.0),
        words("value", "Value taken", 16.0),
        words("low", "Plausible, low", 16.0),
        words("high", "Plausible, high", 16.0),
        words("must_answer", "Answer before building", 12.0),
        words("why", "Why", 70.0),
    ];
    let mut table = Table::new("assumptions", "Assumptions", columns);
    for assumption in assumptions {
        let ends = assumption.plausible.as_ref();
        table.push(vec![
            assumption.path.as_str().into(),
            assumption.value.as_str().into(),
            ends.map(|(low, _)| low.as_str()).into(),
            ends.map(|(_, high)| high.as_str()).into(),
            assumption.must_answer.into(),
            assumption.why.as_str().into(),
        ]);
    }
    table
}

fn because_table(rows: &[BecauseRow]) -> Table {
    let columns = vec![
        words("path", "Value", 30.0),
        words("value", "Is", 16.0),
        words("step", "Because", 64.0),
        words("origins", "From", 74.0),
        words("pinned_over", "Without the pin", 16.0),
    ];
    let mut table = Table::new("because", "Because", columns);
    for row in rows {
        table.push(vec![
            row.path.as_str().into(),
            row.value.as_str().into(),
            row.step.as_str().into(),
            row.origins.join("; ").into(),
            row.pinned_over.clone().into(),
        ]);
    }
    table
}
