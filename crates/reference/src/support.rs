//! How far apart the supports of a cable may be.
//! Never: counts supports.
//! Start at [`Reference::cable_support`].

use crate::data::{Row, Tables};
use crate::{Cite, Cited, Provenance, Reference, RuleSet};
use quantity::Metres;

pub(crate) struct Support {
    rows: Vec<Row>,
    what: String,
}

impl Support {
    pub fn load(tables: &Tables) -> Result<Self, String> {
        let table = tables.get("cable-support")?;
        for rules in [RuleSet::Na, RuleSet::Iec] {
            table.need(&rules.to_string(), 1)?;
        }
        Ok(Self { rows: table.rows.clone(), what: table.what.clone() })
    }
}

impl Reference {
    /// Largest distance between supports of a cable that is not supported all along.
    pub fn cable_support(&self, rules: RuleSet) -> Cited<Metres> {
        let row = self.support.rows.iter().find(|row| row.key == rules.to_string());
        match row.and_then(|row| Some((row.number(1)?, row))) {
            Some((millimetres, row)) => {
                Cited::new(Metres::new(millimetres / 1000.0), row.cite(&self.support.what))
            }
            // Loading has asked for both rule sets.
            None => Cited::new(Metres::new(f64::NAN), Cite::new("practice", "missing", Provenance::Memory)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cable_is_held_about_every_18_inches() {
        // 18 in is 457.2 mm; the rule sets print 455 mm and 450 mm (ABYC E-11 and ISO 10133, from memory).
        let reference = Reference::standard();
        assert_eq!(reference.cable_support(RuleSet::Na).value, Metres::new(0.455));
        assert_eq!(reference.cable_support(RuleSet::Iec).value, Metres::new(0.450));
        assert_eq!(reference.cable_support(RuleSet::Iec).cite.source, "iso-10133");
    }
}
