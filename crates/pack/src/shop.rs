//! What the workshop goes by: in what lengths cable is sold, heat-shrink, grids of label sheets.
//! Never: plans a cut or lays a sheet out; holds what a standard says (see `reference`).
//! Start at [`cable_stock`] and [`heat_shrink`]; the lists are `data/workshop.toml`.

use std::sync::OnceLock;

use quantity::{Gauge, Metres};
use reference::{Provenance, RuleSet};
use serde::{Deserialize, Serialize};

/// A document and how well it is known.
pub type Source = (&'static str, Provenance);

/// Metres in a foot, exact by definition.
const FOOT: f64 = 0.3048;

/// A size of heat-shrink with the length to cut.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct HeatShrink {
    /// Its trade size, diameters before and after: `12/4`.
    pub size: String,
    /// Diameter as sold.
    pub sold: Metres,
    /// Diameter when wholly shrunk.
    pub shrunk: Metres,
    /// Length to cut for one end.
    pub length: Metres,
}

/// A grid of labels on a sheet. All lengths from the page's top left corner.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct LabelGrid {
    /// Its name: `a4 3 by 8`.
    pub name: String,
    /// Width and height of the page.
    pub page: (Metres, Metres),
    /// Labels across.
    pub columns: u32,
    /// Labels down.
    pub rows: u32,
    /// Width and height of a label.
    pub label: (Metres, Metres),
    /// From one label's left or top to the next one's.
    pub pitch: (Metres, Metres),
    /// Left and top of the first label.
    pub margin: (Metres, Metres),
}

/// One list of the file: rows with the document behind them.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct List<R> {
    /// Words for a reader of the file, as are `note` and `columns`.
    #[serde(rename = "what")]
    _what: String,
    source: String,
    provenance: Provenance,
    #[serde(rename = "note")]
    _note: Option<String>,
    #[serde(rename = "columns")]
    _columns: Vec<String>,
    rows: Vec<R>,
}

impl<R> List<R> {
    fn source(&self) -> Source {
        let known = reference::Reference::standard().sources().keys().find(|key| **key == self.source);
        // A test holds every key against the known sources.
        (known.map_or("practice", String::as_str), self.provenance)
    }
}

type Number1 = (String, f64);
type Number2 = (String, f64, f64);
type Grid = (String, f64, f64, u32, u32, f64, f64, f64, f64, f64, f64);

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Shop {
    cable_reels: List<Number1>,
    cable_by_length: List<Number1>,
    heat_shrink: List<Number2>,
    heat_shrink_fit: List<Number1>,
    label_grids: List<Grid>,
}

fn read() -> Result<Shop, toml::de::Error> {
    toml::from_str(include_str!("../data/workshop.toml"))
}

/// The lists; a test keeps `None` from ever being seen.
fn shop() -> Option<&'static Shop> {
    static SHOP: OnceLock<Option<Shop>> = OnceLock::new();
    SHOP.get_or_init(|| read().ok()).as_ref()
}

fn fact(list: &List<Number1>, key: &str) -> Option<f64> {
    list.rows.iter().find(|row| row.0 == key).map(|row| row.1)
}

fn millimetres(value: f64) -> Metres {
    Metres::new(value / 1000.0)
}

/// Lengths in which a cable is sold, the shortest first: reels for thin single cores, any whole metre or foot up to the
/// longest for the rest.
pub fn cable_stock(rules: RuleSet, gauge: Gauge, cores: u32) -> (Vec<Metres>, Source) {
    stock(rules, gauge, cores).unwrap_or((Vec::new(), ("practice", Provenance::Memory)))
}

fn stock(rules: RuleSet, gauge: Gauge, cores: u32) -> Option<(Vec<Metres>, Source)> {
    let shop = shop()?;
    let (unit, word) = match rules {
        RuleSet::Na => (FOOT, "ft"),
        RuleSet::Iec => (1.0, "m"),
    };
    let thin = fact(&shop.cable_by_length, "single cores from [mm²]")?;
    if cores <= 1 && gauge.area().get() < thin {
        let prefix = format!("{rules} ");
        let own = shop.cable_reels.rows.iter().filter(|row| row.0.starts_with(&prefix));
        return Some((own.map(|row| Metres::new(row.1 * unit)).collect(), shop.cable_reels.source()));
    }
    let step = fact(&shop.cable_by_length, &format!("{rules} step [{word}]"))?;
    let longest = fact(&shop.cable_by_length, &format!("{rules} longest [{word}]"))?;
    let count = (longest / step).floor().max(0.0) as u32;
    let lengths = (1..=count).map(|steps| Metres::new(f64::from(steps) * step * unit)).collect();
    Some((lengths, shop.cable_by_length.source()))
}

/// The smallest heat-shrink for the end of a cable of an outside diameter, with the length that covers `barrel` and grips the
/// insulation; `None` beyond the largest size.
pub fn heat_shrink(outside: Metres, barrel: Metres) -> Option<(HeatShrink, Source)> {
    let shop = shop()?;
    let fit = |key: &str| fact(&shop.heat_shrink_fit, key);
    let over = fit("as sold over the cable's diameter")?;
    let grip = fit("shrunk over the cable's diameter")?;
    let (insulation, step) = (fit("over the insulation [mm]")?, fit("cut in steps of [mm]")?);
    let diameter = outside.get() * 1000.0;
    let fits = |row: &&Number2| row.1 >= over * diameter && row.2 <= grip * diameter;
    let (size, sold, shrunk) = shop.heat_shrink.rows.iter().find(fits)?;
    // Less what a double makes of a whole number of steps.
    let length = ((barrel.get() * 1000.0 + insulation) / step - 1e-9).ceil() * step;
    let shrink = HeatShrink {
        size: size.clone(),
        sold: millimetres(*sold),
        shrunk: millimetres(*shrunk),
        length: millimetres(length),
    };
    Some((shrink, shop.heat_shrink.source()))
}

/// Every grid of label sheets.
pub fn label_grids() -> Vec<LabelGrid> {
    let grid = |row: &Grid| {
        let pair = |x: f64, y: f64| (millimetres(x), millimetres(y));
        LabelGrid {
            name: row.0.clone(),
            page: pair(row.1, row.2),
            columns: row.3,
            rows: row.4,
            label: pair(row.5, row.6),
            pitch: pair(row.7, row.8),
            margin: pair(row.9, row.10),
        }
    };
    shop().map(|shop| shop.label_grids.rows.iter().map(grid).collect()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use reference::Reference;

    #[test]
    fn the_lists_are_read_and_their_sources_known() {
        let shop = read().unwrap();
        let known = Reference::standard().sources();
        let keys = [
            &shop.cable_reels.source,
            &shop.cable_by_length.source,
            &shop.heat_shrink.source,
            &shop.heat_shrink_fit.source,
            &shop.label_grids.source,
        ];
        for key in keys {
            assert!(known.contains_key(key), "{key}");
        }
    }

    #[test]
    fn every_size_of_both_rule_sets_is_sold_and_sealed() {
        let reference = Reference::standard();
        for rules in [RuleSet::Na, RuleSet::Iec] {
            for &gauge in reference.gauges(rules) {
                for cores in [1, 3] {
                    let (stock, _) = cable_stock(rules, gauge, cores);
                    assert!(
                        stock.len() >= 4 && stock.is_sorted_by(|a, b| a < b),
                        "{gauge} {cores}: {stock:?}"
                    );
                }
                let outside = reference.outer_diameter(gauge).unwrap().value;
                let (shrink, _) = heat_shrink(outside, Metres::new(0.02)).unwrap();
                assert!(shrink.shrunk < outside && outside < shrink.sold, "{gauge}: {shrink:?}");
                let grommet = reference.grommet(outside).unwrap().value;
                assert!(outside <= grommet.bore && grommet.bore < grommet.hole, "{gauge}: {grommet:?}");
            }
        }
        assert!(heat_shrink(Metres::new(0.05), Metres::new(0.02)).is_none());
    }

    #[test]
    fn a_foot_is_0_3048_m_and_thick_cable_is_sold_by_it() {
        let (stock, _) = cable_stock(RuleSet::Na, Gauge::Awg(-1), 1);
        assert_eq!(stock[0], Metres::new(0.3048));
        assert!((stock[9].get() - 3.048).abs() < 1e-12);
    }

    #[test]
    fn labels_lie_on_their_page_and_not_on_each_other() {
        assert!(label_grids().len() >= 4);
        for grid in label_grids() {
            let along = |margin: Metres, pitch: Metres, label: Metres, count: u32| {
                margin.get() + pitch.get() * f64::from(count - 1) + label.get()
            };
            // ISO 216 and the letter sheet of ANSI/ASME Y14.1: 210 by 297 mm, 8.5 by 11 in.
            let page = if grid.name.starts_with("a4") { (0.210, 0.297) } else { (0.2159, 0.2794) };
            assert!((grid.page.0.get() - page.0).abs() < 1e-9 && (grid.page.1.get() - page.1).abs() < 1e-9);
            assert!(
                along(grid.margin.0, grid.pitch.0, grid.label.0, grid.columns) <= page.0 + 1e-9,
                "{grid:?}"
            );
            assert!(along(grid.margin.1, grid.pitch.1, grid.label.1, grid.rows) <= page.1 + 1e-9, "{grid:?}");
            assert!(grid.pitch.0 >= grid.label.0 && grid.pitch.1 >= grid.label.1, "{grid:?}");
        }
    }
}
