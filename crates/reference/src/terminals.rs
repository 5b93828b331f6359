//! Ends and colours of conductors: studs, lugs, ferrules, torque, colour codes.
//! Never: knows a maker's part.
//! Start at [`Reference::lug_for`] and [`Reference::conductor_colour`].

use crate::data::{Row, Tables};
use crate::lookup::BySize;
use crate::{Cite, Cited, Provenance, Reference, RuleSet};
use quantity::{Gauge, Metres, NewtonMetres};
use serde::Serialize;

/// What a conductor is for, as far as its colour goes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ColourRole {
    /// DC positive.
    DcPositive,
    /// DC negative.
    DcNegative,
    /// First AC line.
    Line1,
    /// Second AC line.
    Line2,
    /// AC neutral.
    Neutral,
    /// AC protective earth.
    ProtectiveEarth,
    /// Bond between metal parts.
    Bonding,
}

impl ColourRole {
    /// Every role.
    pub const ALL: [ColourRole; 7] = [
        ColourRole::DcPositive,
        ColourRole::DcNegative,
        ColourRole::Line1,
        ColourRole::Line2,
        ColourRole::Neutral,
        ColourRole::ProtectiveEarth,
        ColourRole::Bonding,
    ];

    fn key(self) -> &'static str {
        match self {
            ColourRole::DcPositive => "dc positive",
            ColourRole::DcNegative => "dc negative",
            ColourRole::Line1 => "line 1",
            ColourRole::Line2 => "line 2",
            ColourRole::Neutral => "neutral",
            ColourRole::ProtectiveEarth => "protective earth",
            ColourRole::Bonding => "bonding",
        }
    }
}

/// A conductor colour and the letter that stands beside it for eyes and printers that miss colours.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Colour {
    /// "red", "green-and-yellow".
    pub name: String,
    /// "R", "GY".
    pub letter: String,
}

/// A ring lug for a size on a stud.
#[derive(Clone, PartialEq, Debug)]
pub struct Lug {
    /// Conductor size.
    pub gauge: Gauge,
    /// Stud: a key of [`Reference::studs`].
    pub stud: String,
    /// Diameter of its hole.
    pub hole: Metres,
    /// Insulation to strip.
    pub strip: Metres,
}

/// A wire-end ferrule for a size.
#[derive(Clone, PartialEq, Debug)]
pub struct Ferrule {
    /// Conductor size it is made for.
    pub gauge: Gauge,
    /// Length of its metal tube.
    pub tube: Metres,
    /// Insulation to strip.
    pub strip: Metres,
}

pub(crate) struct Terminals {
    colours: Vec<Row>,
    colours_what: String,
    studs: Vec<Row>,
    stud_names: Vec<String>,
    studs_what: String,
    lugs: BySize,
    ferrules: BySize,
    per_stud: Cited<u32>,
}

impl Terminals {
    pub fn load(tables: &Tables) -> Result<Self, String> {
        let colours = tables.get("colours")?;
        let studs = tables.get("studs")?;
        for row in &studs.rows {
            for column in 1..=5 {
                studs.need(&row.key, column)?;
            }
        }
        let per_stud = tables.get("terminals-per-stud")?;
        let row = per_stud.row("most").ok_or("table terminals-per-stud: row \"most\" is missing")?;
        Ok(Self {
            colours: colours.rows.clone(),
            colours_what: colours.what.clone(),
            studs: studs.rows.clone(),
            stud_names: studs.rows.iter().map(|row| row.key.clone()).collect(),
            studs_what: studs.what.clone(),
            lugs: BySize::load(tables, "lugs")?,
            ferrules: BySize::load(tables, "ferrules")?,
            per_stud: Cited::new(per_stud.need("most", 1)? as u32, row.cite(&per_stud.what)),
        })
    }

    fn stud(&self, stud: &str) -> Option<&Row> {
        self.studs.iter().find(|row| row.key == stud)
    }
}

fn millimetres(value: f64) -> Metres {
    Metres::new(value / 1000.0)
}

impl Reference {
    /// Colour of a conductor of a role, with its letter.
    pub fn conductor_colour(&self, rules: RuleSet, role: ColourRole) -> Cited<Colour> {
        let key = format!("{rules} {}", role.key());
        let row = self.terminals.colours.iter().find(|row| row.key == key);
        let parts = row.and_then(|row| Some((row.text(1)?, row.text(2)?, row)));
        match parts {
            Some((name, letter, row)) => Cited::new(
                Colour { name: name.to_owned(), letter: letter.to_owned() },
                row.cite(&self.terminals.colours_what),
            ),
            // A test looks up every role in both rule sets.
            None => Cited::new(
                Colour { name: "grey".into(), letter: "?".into() },
                Cite::new("practice", key, Provenance::Memory),
            ),
        }
    }

    /// Names of the studs known, by size: "M8", "5/16".
    pub fn studs(&self) -> &[String] {
        &self.terminals.stud_names
    }

    /// Torque to aim for on a clean dry stud; the maker's figure governs. `None` for an unknown stud.
    pub fn stud_torque(&self, stud: &str) -> Option<Cited<NewtonMetres>> {
        let row = self.terminals.stud(stud)?;
        Some(Cited::new(NewtonMetres::new(row.number(4)?), row.cite(&self.terminals.studs_what)))
    }

    /// Least and most torque on a clean dry stud.
    pub fn stud_torque_range(&self, stud: &str) -> Option<Cited<(NewtonMetres, NewtonMetres)>> {
        let row = self.terminals.stud(stud)?;
        let range = (NewtonMetres::new(row.number(3)?), NewtonMetres::new(row.number(5)?));
        Some(Cited::new(range, row.cite(&self.terminals.studs_what)))
    }

    /// Thread diameter of a stud.
    pub fn stud_thread(&self, stud: &str) -> Option<Metres> {
        self.terminals.stud(stud)?.number(1).map(millimetres)
    }

    /// The ring lug of a size for a stud; `None` where none is made for the pair.
    pub fn lug_for(&self, size: Gauge, stud: &str) -> Option<Cited<Lug>> {
        let hole = self.terminals.stud(stud)?.number(2)?;
        let row = self.terminals.lugs.exact(size).ok()?;
        let (least, most) = (row.number(1)?, row.number(2)?);
        if !(least..=most).contains(&hole) {
            return None;
        }
        let strip = millimetres(row.number(3)?);
        let lug = Lug { gauge: size, stud: stud.to_owned(), hole: millimetres(hole), strip };
        Some(Cited::new(lug, row.cite("ring lug")))
    }

    /// The ferrule for a size: its own, or for AWG the smallest metric one that takes the metal. `None` above 50 mm².
    pub fn ferrule(&self, size: Gauge) -> Option<Cited<Ferrule>> {
        let (gauge, row) = self.terminals.ferrules.not_smaller(size)?;
        let ferrule =
            Ferrule { gauge, tube: millimetres(row.number(1)?), strip: millimetres(row.number(2)?) };
        Some(Cited::new(ferrule, row.cite("wire-end ferrule")))
    }

    /// Insulation to strip for a ring lug on a size.
    pub fn strip_length(&self, size: Gauge) -> Option<Cited<Metres>> {
        let row = self.terminals.lugs.exact(size).ok()?;
        Some(Cited::new(millimetres(row.number(3)?), row.cite("strip length for a ring lug")))
    }

    /// Most terminals that may share one stud.
    pub fn terminals_per_stud(&self) -> Cited<u32> {
        self.terminals.per_stud.clone()
    }
}
