//! How cables pass through walls and lie in channels: glands, the fill of a channel, the edge of a hole.
//! Never: routes a cable or counts holes (see `board`).
//! Start at [`Reference::gland`] and [`Reference::channel_fill`].

use crate::data::{Row, Tables};
use crate::{Cite, Cited, Provenance, Reference};
use quantity::{Fraction, Metres};
use serde::Serialize;

/// A cable gland.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Gland {
    /// Its thread: `M20`.
    pub thread: String,
    /// Thinnest cable that it seals.
    pub least: Metres,
    /// Thickest cable that it takes.
    pub most: Metres,
    /// Hole to drill for it.
    pub hole: Metres,
}

/// A grommet.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Grommet {
    /// Its bore, which takes the cables.
    pub bore: Metres,
    /// Hole to drill for it.
    pub hole: Metres,
}

pub(crate) struct Passage {
    grommets: Vec<Row>,
    grommets_what: String,
    glands: Vec<Row>,
    glands_what: String,
    fill: Vec<Row>,
    fill_what: String,
    edge: Cite,
}

impl Passage {
    pub fn load(tables: &Tables) -> Result<Self, String> {
        let table = |id: &str, numbers: usize| {
            let table = tables.get(id)?;
            for row in &table.rows {
                for column in 1..=numbers {
                    table.need(&row.key, column)?;
                }
            }
            Ok::<_, String>((table.rows.clone(), table.what.clone()))
        };
        let (glands, glands_what) = table("glands", 3)?;
        let (grommets, grommets_what) = table("grommets", 2)?;
        let (fill, fill_what) = table("channel-fill", 1)?;
        let (edge, edge_what) = table("passage-edge", 1)?;
        let edge = edge.first().ok_or("passage-edge has no row")?.cite(&edge_what);
        Ok(Self { grommets, grommets_what, glands, glands_what, fill, fill_what, edge })
    }
}

impl Reference {
    /// The smallest gland that seals a round cable of an outside diameter; `None` thinner or thicker than all.
    pub fn gland(&self, outside: Metres) -> Option<Cited<Gland>> {
        let passage = &self.passage;
        let diameter = outside.get() * 1000.0;
        let metres = |value: f64| Metres::new(value / 1000.0);
        passage.glands.iter().find_map(|row| {
            let (least, most, hole) = (row.number(1)?, row.number(2)?, row.number(3)?);
            // The diameter itself, less what a double makes of it.
            let fits = least <= diameter + 1e-9 && diameter <= most + 1e-9;
            let gland = Gland {
                thread: row.key.clone(),
                least: metres(least),
                most: metres(most),
                hole: metres(hole),
            };
            fits.then(|| Cited::new(gland, row.cite(&passage.glands_what)))
        })
    }

    /// The smallest grommet that a cable or bundle of an outside diameter passes; `None` beyond the largest.
    pub fn grommet(&self, outside: Metres) -> Option<Cited<Grommet>> {
        let passage = &self.passage;
        passage.grommets.iter().find_map(|row| {
            let (bore, hole) = (row.number(1)?, row.number(2)?);
            let grommet = Grommet { bore: Metres::new(bore / 1000.0), hole: Metres::new(hole / 1000.0) };
            // The diameter itself, less what a double makes of it.
            (bore >= outside.get() * 1000.0 - 1e-9)
                .then(|| Cited::new(grommet, row.cite(&passage.grommets_what)))
        })
    }

    /// Share of the clear area of a duct or conduit that so many cables may fill (NEC Chapter 9, Table 1).
    pub fn channel_fill(&self, cables: usize) -> Cited<Fraction> {
        let passage = &self.passage;
        let key = cables.clamp(1, 3).to_string();
        match passage.fill.iter().find(|row| row.key == key).and_then(|row| Some((row.number(1)?, row))) {
            Some((share, row)) => Cited::new(Fraction::new(share), row.cite(&passage.fill_what)),
            // A test asks for every count.
            None => Cited::new(Fraction::new(0.0), Cite::new("practice", "missing", Provenance::Memory)),
        }
    }

    /// The duty to protect a cable from the edge of a hole (33 CFR 183.445(a)).
    pub fn passage_edge(&self) -> Cite {
        self.passage.edge.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_smallest_gland_that_seals_is_taken() {
        let reference = Reference::standard();
        let gland = |mm: f64| reference.gland(Metres::new(mm / 1000.0)).map(|cited| cited.value.thread);
        // A trade page on EN 62444 prints M12 for cables of 3 to 6 mm and a 12.5 mm hole; the others are usual figures.
        assert_eq!(gland(3.0).as_deref(), Some("M12"));
        assert_eq!(gland(6.0).as_deref(), Some("M12"));
        assert_eq!(gland(10.0).as_deref(), Some("M16"));
        assert_eq!(gland(10.1).as_deref(), Some("M20"));
        assert_eq!(gland(45.0).as_deref(), Some("M63"));
        assert_eq!((gland(2.0), gland(46.0)), (None, None));
        // No gap between the sizes: each begins before the one below ends, and its hole passes its thread.
        let rows = &reference.passage.glands;
        assert!(rows.windows(2).all(|pair| pair[1].number(1) <= pair[0].number(2)));
        for row in rows {
            let thread: f64 = row.key[1..].parse().unwrap();
            assert!(row.number(3).unwrap() > thread && row.number(3).unwrap() <= thread + 0.5);
            assert!(row.number(2).unwrap() < thread);
        }
    }

    #[test]
    fn the_smallest_grommet_that_passes_is_taken() {
        let bore = |mm: f64| {
            Reference::standard()
                .grommet(Metres::new(mm / 1000.0))
                .map(|cited| cited.value.bore.get() * 1000.0)
        };
        assert_eq!((bore(1.0), bore(12.0), bore(12.1)), (Some(4.0), Some(12.0), Some(16.0)));
        assert_eq!(bore(40.1), None);
        assert!(Reference::standard().passage.grommets.iter().all(|row| row.number(2) > row.number(1)));
    }

    /// NEC Chapter 9, Table 1, as reprinted on public pages: 53 % for one, 31 % for two, 40 % for more.
    #[test]
    fn the_fill_is_that_of_the_code() {
        let fill = |count| Reference::standard().channel_fill(count).value.get();
        assert_eq!([fill(1), fill(2), fill(3), fill(40)], [0.53, 0.31, 0.40, 0.40]);
    }
}
