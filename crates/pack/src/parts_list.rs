//! The parts list: every device, cable, lug, ferrule and fuse to buy, with price band and mass.
//! Never: picks a part. What has no part in the library is listed with its need and without a price.
//! Start at [`PartsList::of`].

use std::collections::BTreeMap;

use model::parts::PartFacts;
use model::{Device, Spec, System, parts::Library};
use quantity::{Kilograms, Money, Written};
use reference::RuleSet;
use serde::Serialize;

use crate::cables::{self, CableRow, FOOT};
use crate::ends::{Fitting, FittingKind};
use crate::fuses;
use crate::table::{Table, numbers, rounded, words};

/// Cable is ordered in steps of half a metre or half a foot. Common practice, no source.
const CABLE_STEP: f64 = 0.5;

/// What a line is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Counted {
    /// Pieces.
    Pieces,
    /// Metres.
    Metres,
    /// Feet.
    Feet,
}

impl Counted {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Counted::Pieces => "piece",
            Counted::Metres => "m",
            Counted::Feet => "ft",
        }
    }
}

/// Price band and mass of one piece, metre or foot, and of the line. Money to a hundredth, mass to a tenth of a gram.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Worth {
    /// Lowest and highest price of one.
    pub unit_price: (Money, Money),
    /// Lowest and highest price of the line.
    pub price: (Money, Money),
    /// Mass of one.
    pub unit_mass: Kilograms,
    /// Mass of the line.
    pub mass: Kilograms,
}

/// One line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartRow {
    /// Kind of part, a table of the library: `lug`; `to find` for a need without a part.
    pub kind: String,
    /// Its id in the library; empty where there is none.
    pub id: String,
    /// What it is.
    pub title: String,
    /// How much to buy, spares in it.
    pub quantity: f64,
    /// Spares in the quantity.
    pub spares: u32,
    /// What the quantity counts.
    pub counted: Counted,
    /// Devices or runs that use it.
    pub used: Vec<String>,
    /// Price and mass; `None` where they are not known.
    pub worth: Option<Worth>,
}

/// The parts list with its totals.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartsList {
    /// The lines, by kind and id.
    pub rows: Vec<PartRow>,
    /// Lowest and highest price of all lines that have one.
    pub price: (Money, Money),
    /// Mass of all lines that have one.
    pub mass: Kilograms,
    /// Lines without price and mass, which the totals leave out.
    pub lines_unknown: u32,
}

/// What is needed of one part.
#[derive(Default)]
struct Need {
    quantity: f64,
    spares: u32,
    used: Vec<String>,
    title: Option<String>,
    counted: Option<Counted>,
}

/// Key of a line: kind, id, and a rating or size where one part covers several.
type Key = (String, String, String);

impl PartsList {
    /// The parts of a system and of its cable schedule.
    pub fn of(system: &System, library: &Library, cable_rows: &[CableRow]) -> Self {
        let facts: BTreeMap<(&str, &str), &dyn PartFacts> =
            library.facts().into_iter().map(|(kind, id, part)| ((kind, id.as_str()), part)).collect();
        let mut needs: BTreeMap<Key, Need> = BTreeMap::new();
        devices(system, &mut needs);
        fuse_links(system, library, &mut needs);
        cable(system.rules, cable_rows, &mut needs);
        ends(cable_rows, &mut needs);
        gaps(system, &mut needs);
        let rows: Vec<PartRow> = needs.into_iter().map(|(key, need)| line(&facts, key, need)).collect();

        let known = || rows.iter().filter_map(|row| row.worth);
        let price = |end: fn(&Worth) -> Money| {
            Money::new(rounded(known().map(|worth| end(&worth).get()).sum(), PRICE_DECIMALS))
        };
        let unknown = rows.iter().filter(|row| row.worth.is_none()).count();
        PartsList {
            price: (price(|worth| worth.price.0), price(|worth| worth.price.1)),
            mass: Kilograms::new(rounded(known().map(|worth| worth.mass.get()).sum(), MASS_DECIMALS)),
            lines_unknown: u32::try_from(unknown).unwrap_or(u32::MAX),
            rows,
        }
    }
}

const PRICE_DECIMALS: u8 = 2;
const UNIT_PRICE_DECIMALS: u8 = 3;
const MASS_DECIMALS: u8 = 4;
const UNIT_MASS_DECIMALS: u8 = 5;

/// A line with its price and mass. Each is rounded once, so that the totals are the sums of what is shown.
fn line(facts: &BTreeMap<(&str, &str), &dyn PartFacts>, (kind, id, detail): Key, need: Need) -> PartRow {
    let part = facts.get(&(kind.as_str(), id.as_str()));
    let counted = need.counted.unwrap_or(Counted::Pieces);
    // Cable parts tell price and mass of one metre.
    let each = if counted == Counted::Feet { FOOT } else { 1.0 };
    let quantity = need.quantity + f64::from(need.spares);
    let worth = part.map(|part| {
        let (low, high) = part.price();
        let unit = |money: Money| Money::new(rounded(money.get() * each, UNIT_PRICE_DECIMALS));
        let all = |unit: Money| Money::new(rounded(unit.get() * quantity, PRICE_DECIMALS));
        let unit_price = (unit(low), unit(high));
        let unit_mass = Kilograms::new(rounded(part.mass().get() * each, UNIT_MASS_DECIMALS));
        Worth {
            unit_price,
            price: (all(unit_price.0), all(unit_price.1)),
            unit_mass,
            mass: Kilograms::new(rounded(unit_mass.get() * quantity, MASS_DECIMALS)),
        }
    });
    let title = part.map(|part| part.title().to_owned());
    let title = match (title, need.title) {
        (Some(title), _) if detail.is_empty() => title,
        (Some(title), _) => format!("{title}, {}", detail.trim()),
        (None, Some(title)) => title,
        (None, None) => id.clone(),
    };
    PartRow { kind, id, title, quantity, spares: need.spares, counted, used: need.used, worth }
}

fn devices(system: &System, needs: &mut BTreeMap<Key, Need>) {
    for device in &system.devices {
        let Some((kind, id)) = device.part.as_deref().and_then(|part| part.split_once('.')) else {
            described(system, device, needs);
            continue;
        };
        let count = match &device.spec {
            Spec::Load(load) => load.count,
            Spec::Array(array) => array.series.saturating_mul(array.parallel),
            _ => 1,
        };
        let need = needs.entry((kind.to_owned(), id.to_owned(), String::new())).or_default();
        need.quantity += f64::from(count);
        need.title.get_or_insert_with(|| device.title.clone());
        need.used.push(device.id.clone());
    }
}

/// A device that the person described, and so has no part: listed without a price, unless a gap says it already, or it
/// is there before us (the engine's own), or another line covers it (a fuse), or nothing is bought.
fn described(system: &System, device: &Device, needs: &mut BTreeMap<Key, Need>) {
    let is_listed_elsewhere = matches!(
        device.spec,
        Spec::Load(_) | Spec::Fuse(_) | Spec::StartBattery(_) | Spec::Alternator(_) | Spec::Chassis
    );
    let below = |path: &str| {
        path.strip_prefix(&device.id).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
    };
    if is_listed_elsewhere || system.gaps.iter().any(|gap| below(&gap.path)) {
        return;
    }
    let need = needs.entry(("described".to_owned(), String::new(), device.title.clone())).or_default();
    need.quantity += 1.0;
    need.title.get_or_insert_with(|| format!("{}: as described in intent.toml", device.title));
    need.used.push(device.id.clone());
}

/// Fuses by family and rating, with spares; their holders and panels are devices.
fn fuse_links(system: &System, library: &Library, needs: &mut BTreeMap<Key, Need>) {
    for ((family, rating), (amps, places)) in fuses::kinds(system) {
        let sold = library.fuse.iter().find(|(_, link)| {
            link.family.as_str() == family && link.ratings.iter().any(|sold| sold.show() == rating)
        });
        let id = sold.map_or_else(String::new, |(id, _)| id.to_string());
        let in_use = u32::try_from(places.len()).unwrap_or(u32::MAX);
        // Sorted by the number of amps, not by its text.
        let need = needs.entry(("fuse".to_owned(), id, format!("{:>5} A", amps.get()))).or_default();
        need.quantity += f64::from(in_use);
        need.spares += fuses::spares(&family, in_use);
        need.title.get_or_insert_with(|| format!("Fuse, family {family}, {rating}: to be found"));
        need.used.extend(places);
    }
}

fn cable(rules: RuleSet, rows: &[CableRow], needs: &mut BTreeMap<Key, Need>) {
    for cable in cables::to_buy(rows) {
        let (counted, length) = match rules {
            RuleSet::Na => (Counted::Feet, cable.cut.get() / FOOT),
            RuleSet::Iec => (Counted::Metres, cable.cut.get()),
        };
        let id = cable.cable.as_deref().map_or("", |id| id.strip_prefix("cable.").unwrap_or(id));
        let need = needs.entry(("cable".to_owned(), id.to_owned(), cable.what.clone())).or_default();
        need.quantity += whole_steps(length);
        need.counted = Some(counted);
        need.title = (!cable.what.is_empty()).then(|| format!("{}: to be found", cable.what));
        need.used.extend(cable.runs.iter().map(|run| format!("run {run}")));
    }
}

/// A length in whole steps, rounded up; what lies above a step by no more than the error of adding is that step.
fn whole_steps(length: f64) -> f64 {
    (length / CABLE_STEP - 1e-9).ceil().max(0.0) * CABLE_STEP
}

fn ends(rows: &[CableRow], needs: &mut BTreeMap<Key, Need>) {
    let mut count = |fitting: &Fitting, run: u32| {
        let kind = match fitting.kind {
            FittingKind::Lug | FittingKind::BondLug => "lug",
            FittingKind::Ferrule => "ferrule",
            FittingKind::ArrayConnector => "connector",
            FittingKind::Bare => return,
        };
        let id = fitting.part.as_deref().and_then(|part| part.split_once('.')).map_or("", |(_, id)| id);
        let detail = if id.is_empty() { fitting.what.clone() } else { String::new() };
        let need = needs.entry((kind.to_owned(), id.to_owned(), detail)).or_default();
        need.quantity += 1.0;
        need.title.get_or_insert_with(|| format!("{}: to be found", fitting.what));
        let run = format!("run {run}");
        if need.used.last() != Some(&run) {
            need.used.push(run);
        }
    };
    for row in rows {
        count(&row.from.fitting, row.number);
        count(&row.to.fitting, row.number);
    }
}

/// Needs without a part; cable stands in the list already.
fn gaps(system: &System, needs: &mut BTreeMap<Key, Need>) {
    for gap in system.gaps.iter().filter(|gap| !gap.path.ends_with(".cable")) {
        let need = needs.entry(("to find".to_owned(), String::new(), gap.path.clone())).or_default();
        need.quantity = 1.0;
        need.title = Some(gap.need.clone());
        need.used.push(gap.path.clone());
    }
}

/// The list as a table; the totals leave out what has no price.
pub fn table(list: &PartsList) -> Table {
    let columns = vec![
        words("kind", "Kind", 12.0),
        words("id", "Part", 22.0),
        words("title", "Title", 40.0),
        numbers("quantity", "Quantity, spares in it", "", 1, 10.0),
        words("counted_in", "Counted in", 9.0),
        numbers("spares", "Spares", "", 0, 8.0),
        words("used", "Where used", 36.0),
        numbers("unit_price_low", "Price of one, low", "", UNIT_PRICE_DECIMALS, 10.0),
        numbers("unit_price_high", "Price of one, high", "", UNIT_PRICE_DECIMALS, 10.0),
        numbers("price_low", "Price, low", "", PRICE_DECIMALS, 11.0).summed(),
        numbers("price_high", "Price, high", "", PRICE_DECIMALS, 11.0).summed(),
        numbers("unit_mass_kg", "Mass of one", "kg", UNIT_MASS_DECIMALS, 10.0),
        numbers("mass_kg", "Mass", "kg", MASS_DECIMALS, 10.0).summed(),
    ];
    let mut table = Table::new("parts", "Parts", columns);
    for row in &list.rows {
        let number = |read: fn(&Worth) -> f64| row.worth.as_ref().map(read);
        table.push(vec![
            row.kind.as_str().into(),
            row.id.as_str().into(),
            row.title.as_str().into(),
            row.quantity.into(),
            row.counted.word().into(),
            row.spares.into(),
            row.used.join(", ").into(),
            number(|worth| worth.unit_price.0.get()).into(),
            number(|worth| worth.unit_price.1.get()).into(),
            number(|worth| worth.price.0.get()).into(),
            number(|worth| worth.price.1.get()).into(),
            number(|worth| worth.unit_mass.get()).into(),
            number(|worth| worth.mass.get()).into(),
        ]);
    }
    table
}
