//! What a step of the build order is: deeds, readings, reasons.
//! Never: holds numbers of its own; every number in a step comes from the system, its study or a table.
//! Start at [`Step`].

use quantity::{Amps, Hours, Ohms, Volts};
use serde::Serialize;

/// The build order.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BuildOrder {
    /// The safety note.
    pub safety: String,
    /// The steps, in order.
    pub steps: Vec<Step>,
}

impl BuildOrder {
    /// The step of an id.
    pub fn find(&self, id: &str) -> Option<&Step> {
        self.steps.iter().find(|step| step.id == id)
    }
}

/// A part of the work. Stages follow each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// At the bench.
    Bench,
    /// In the vehicle, boat or hut, with every source off.
    Vehicle,
    /// Tests before anything is live.
    DeadChecks,
    /// The bank and the direct-current side.
    FirstPower,
    /// Sun and engine.
    Charging,
    /// The alternating-current side.
    Ac,
    /// Papers and the first days.
    Handover,
}

impl Stage {
    /// All, in order.
    pub const ALL: [Stage; 7] = [
        Stage::Bench,
        Stage::Vehicle,
        Stage::DeadChecks,
        Stage::FirstPower,
        Stage::Charging,
        Stage::Ac,
        Stage::Handover,
    ];

    /// Its word, as JSON and the command line write it.
    pub fn word(self) -> &'static str {
        match self {
            Stage::Bench => "bench",
            Stage::Vehicle => "vehicle",
            Stage::DeadChecks => "dead-checks",
            Stage::FirstPower => "first-power",
            Stage::Charging => "charging",
            Stage::Ac => "ac",
            Stage::Handover => "handover",
        }
    }

    /// Its heading.
    pub fn title(self) -> &'static str {
        match self {
            Stage::Bench => "At the bench",
            Stage::Vehicle => "In place, everything dead",
            Stage::DeadChecks => "Checks before anything is live",
            Stage::FirstPower => "First power: the bank and the direct-current side",
            Stage::Charging => "Charging: sun and engine",
            Stage::Ac => "Alternating current",
            Stage::Handover => "Handover",
        }
    }
}

/// What is done to one thing. [`Act`] says to which.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Deed {
    /// `workplace`, `board` or `vehicle` is made ready.
    Prepare,
    /// A device is fixed in its place: a fuse without its link, a disconnect or breaker open.
    Mount,
    /// The wired board is fixed in the vehicle.
    Place,
    /// A conductor is cut, crimped and labelled.
    Make,
    /// A conductor is laid along its way and clamped.
    Lay,
    /// One end of a conductor is joined to the terminal `at`.
    Join,
    /// A fuse link is inserted.
    Insert,
    /// A fuse link is taken out.
    Remove,
    /// A disconnect or breaker is closed.
    Close,
    /// A disconnect or breaker is opened.
    Open,
    /// An array is covered.
    Cover,
    /// An array is uncovered.
    Uncover,
    /// The negative lead of a battery that is in the vehicle already is taken off.
    TakeOff,
    /// That lead is put back.
    PutBack,
    /// The capacitors of an inverter are filled through a resistor.
    Precharge,
    /// A device is set up.
    Set,
    /// An inverter, engine, generator or shore cord starts to give power.
    Start,
    /// It stops.
    Stop,
    /// The system is handed over.
    HandOver,
}

/// One deed on one thing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Act {
    /// What is done.
    pub deed: Deed,
    /// To which device or conductor, by id.
    pub on: String,
    /// At which terminal, for [`Deed::Join`].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
}

/// A number with its unit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Value {
    /// A voltage.
    Volts(Volts),
    /// A current.
    Amps(Amps),
    /// A resistance.
    Ohms(Ohms),
}

/// From here on a resistance is shown in megohms, as insulation testers do.
const MANY_OHMS: f64 = 1e5;

impl std::fmt::Display for Value {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Value::Volts(value) => value.fmt(out),
            Value::Amps(value) => value.fmt(out),
            Value::Ohms(value) if value.get() >= MANY_OHMS => write!(out, "{} MΩ", value.get() / 1e6),
            Value::Ohms(value) => value.fmt(out),
        }
    }
}

/// A reading to take before going on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Measure {
    /// Its name, from device, circuit and terminal: `volts:positive-bar.bar`.
    pub id: String,
    /// What is measured.
    pub what: String,
    /// Between or at which terminals, by name.
    pub at: Vec<String>,
    /// What is expected.
    pub expect: String,
    /// Least that is in order, where there is a number.
    pub low: Option<Value>,
    /// Most that is in order, where there is a number.
    pub high: Option<Value>,
    /// Key of the document behind the limits; `None` where they follow from the design alone.
    pub source: Option<&'static str>,
}

/// A step that must be done before.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Need {
    /// Its id.
    pub step: String,
    /// Why it comes first.
    pub because: String,
}

/// What a step handles.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Parts {
    /// Devices, by id.
    pub devices: Vec<String>,
    /// Conductors, by id.
    pub conductors: Vec<String>,
}

/// A time to wait at the end of a step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Wait {
    /// How long.
    pub least: Hours,
    /// What for, and whose figure governs.
    pub what: String,
}

/// One step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Its name, which an edit elsewhere does not change: `join:fridge`.
    pub id: String,
    /// Its number, from 1.
    pub number: u32,
    /// Its stage.
    pub stage: Stage,
    /// In a few words.
    pub title: String,
    /// What to do, a sentence a line.
    pub lines: Vec<String>,
    /// Why it is done, and done now.
    pub why: String,
    /// What must be done before, with the reason.
    pub needs: Vec<Need>,
    /// What must be off or disconnected.
    pub dead: Vec<String>,
    /// Terminals that are live all the same, since they cannot be switched off.
    pub live: Vec<String>,
    /// What is done to which thing, in order.
    pub acts: Vec<Act>,
    /// What to measure before going on.
    pub measures: Vec<Measure>,
    /// What is handled.
    pub parts: Parts,
    /// Tools beside the usual hand tools.
    pub tools: Vec<&'static str>,
    /// People needed: 1 or 2.
    pub people: u32,
    /// Time to wait at the end.
    pub wait: Option<Wait>,
    /// What can hurt.
    pub cautions: Vec<String>,
}

impl Step {
    /// A step with nothing in it.
    pub fn new(stage: Stage, id: String, title: impl Into<String>) -> Self {
        Self {
            id,
            number: 0,
            stage,
            title: title.into(),
            lines: Vec::new(),
            why: String::new(),
            needs: Vec::new(),
            dead: Vec::new(),
            live: Vec::new(),
            acts: Vec::new(),
            measures: Vec::new(),
            parts: Parts::default(),
            tools: Vec::new(),
            people: 1,
            wait: None,
            cautions: Vec::new(),
        }
    }

    /// Adds a line of what to do.
    pub fn line(&mut self, text: impl Into<String>) {
        self.lines.push(text.into());
    }

    /// Adds a caution, once.
    pub fn caution(&mut self, text: impl Into<String>) {
        let text = text.into();
        if !self.cautions.contains(&text) {
            self.cautions.push(text);
        }
    }

    /// Adds a deed.
    pub fn act(&mut self, deed: Deed, on: &str) {
        self.acts.push(Act { deed, on: on.to_owned(), at: None });
    }

    /// Ids of the fuses inserted.
    pub fn inserts(&self) -> impl Iterator<Item = &str> {
        self.done(Deed::Insert)
    }

    /// Ids of the disconnects and breakers closed.
    pub fn closes(&self) -> impl Iterator<Item = &str> {
        self.done(Deed::Close)
    }

    fn done(&self, deed: Deed) -> impl Iterator<Item = &str> {
        self.acts.iter().filter(move |act| act.deed == deed).map(|act| act.on.as_str())
    }
}
