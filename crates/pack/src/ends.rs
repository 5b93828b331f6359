//! How each end of a conductor is made up: lug, ferrule or connector, strip length, torque, part to buy.
//! Never: chooses a conductor or a terminal; where no part of the library fits it says so.
//! Start at [`Fitting::of`].

use model::parts::{Library, PartFacts, Stud};
use model::{Conductor, Name, Spec, System, TerminalRef};
use quantity::{Gauge, Metres, NewtonMetres};
use reference::{Cited, Provenance, Reference};
use serde::Serialize;

/// Kind of a made-up end.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FittingKind {
    /// A ring lug on a stud.
    Lug,
    /// A ferrule under a screw or clamp.
    Ferrule,
    /// Half of a connector pair on the lead of a solar module.
    ArrayConnector,
    /// Bare strands in a clamp that is made for them: no ferrule is made for the size.
    Bare,
    /// A ring lug on clean metal, its bolt to suit.
    BondLug,
}

/// A made-up end.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fitting {
    /// Kind.
    pub kind: FittingKind,
    /// In words: `ring lug 2/0 AWG, stud M8`.
    pub what: String,
    /// Its stud.
    pub stud: Option<Stud>,
    /// Part of the library, `lug.id`; `None` where none fits or none is bought.
    pub part: Option<String>,
    /// Insulation to strip.
    pub strip: Option<Metres>,
    /// Torque to aim for on the stud; the maker's figure governs.
    pub torque: Option<NewtonMetres>,
    /// Documents behind strip length and torque.
    pub sources: Vec<(&'static str, Provenance)>,
}

impl Fitting {
    /// How the end of `conductor` at a terminal is made up.
    pub fn of(system: &System, library: &Library, conductor: &Conductor, at: TerminalRef) -> Self {
        let reference = Reference::standard();
        let gauge = conductor.gauge;
        let size = gauge.brief();
        let is = |wanted: fn(&Spec) -> bool| system.devices.get(at.device).is_some_and(|d| wanted(&d.spec));
        let stud = system.terminal(at).and_then(|terminal| terminal.stud);
        let lug_strip = reference.strip_length(gauge);
        if let Some(stud) = stud {
            let torque = reference.stud_torque(stud_name(stud));
            return Fitting {
                kind: FittingKind::Lug,
                what: format!("ring lug {size}, stud {stud}"),
                stud: Some(stud),
                part: lug(library, gauge, stud).map(|(id, _)| format!("lug.{id}")),
                sources: [source(&lug_strip), source(&torque)].into_iter().flatten().collect(),
                strip: lug_strip.map(|strip| strip.value),
                torque: torque.map(|torque| torque.value),
            };
        }
        let plain = |kind, what: String, strip: Option<Cited<Metres>>| Fitting {
            kind,
            what,
            stud: None,
            part: None,
            sources: source(&strip).into_iter().collect(),
            strip: strip.map(|strip| strip.value),
            torque: None,
        };
        if is(|spec| matches!(spec, Spec::Array(_))) {
            return plain(FittingKind::ArrayConnector, format!("array connector {size}"), None);
        }
        if is(|spec| matches!(spec, Spec::Chassis)) {
            let what = format!("ring lug {size}, bolt to suit, on clean metal");
            return plain(FittingKind::BondLug, what, lug_strip);
        }
        let part = ferrule(library, gauge).map(|(id, _)| format!("ferrule.{id}"));
        let strip = reference.ferrule(gauge).map(|known| known.map(|ferrule| ferrule.strip));
        if part.is_none() && strip.is_none() {
            return plain(FittingKind::Bare, format!("bare end {size}, in a clamp made for it"), None);
        }
        Fitting { part, ..plain(FittingKind::Ferrule, format!("ferrule {size}"), strip) }
    }
}

fn source<T>(cited: &Option<Cited<T>>) -> Option<(&'static str, Provenance)> {
    cited.as_ref().map(|cited| (cited.cite.source, cited.cite.provenance))
}

/// The stud's key in the reference table, which names inch studs without the unit.
pub fn stud_name(stud: Stud) -> &'static str {
    let word = stud.word();
    word.strip_suffix(" in").unwrap_or(word)
}

/// The lug of the library for a size and stud, the cheapest where there are several.
fn lug(library: &Library, gauge: Gauge, stud: Stud) -> Option<(&Name, &model::parts::Lug)> {
    cheapest(library.lug.iter().filter(|(_, lug)| lug.gauge == gauge && lug.stud == stud))
}

/// The ferrule of the library for a size: its own, else the smallest that takes the metal, as the reference table says.
fn ferrule(library: &Library, gauge: Gauge) -> Option<(&Name, &model::parts::Ferrule)> {
    let of = |size: Gauge| cheapest(library.ferrule.iter().filter(move |(_, ferrule)| ferrule.gauge == size));
    of(gauge).or_else(|| of(Reference::standard().ferrule(gauge)?.value.gauge))
}

fn cheapest<'l, T: PartFacts>(parts: impl Iterator<Item = (&'l Name, &'l T)>) -> Option<(&'l Name, &'l T)> {
    parts.min_by(|a, b| a.1.price().1.total_cmp(&b.1.price().1).then_with(|| a.0.cmp(b.0)))
}
