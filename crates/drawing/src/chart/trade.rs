//! Designs against one another: cost across, chance of running out up, mass as the size of the mark.
//! Never: lets names of marks meet; a number stands in the picture, the name beside it where there is room, and all in a
//! table below.
//! Start at [`trade_off`].

use quantity::Kilograms;

use super::panel::{Panel, nice_ticks, shown, step_of};
use super::pen::{At, INK, LEFT, Pen, RIGHT, SMALL, number};
use super::table::{Row, table};
use super::{MOST, percent};

/// One design among others.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mark {
    /// What it costs, in the currency of the chart.
    pub cost: f64,
    /// Mass \[kg\].
    pub mass_kg: f64,
    /// Chance of running out in a year, a share.
    pub chance: f64,
    /// Its name.
    pub label: String,
    /// Nothing else is better in all three.
    pub is_front: bool,
    /// The design as it stands.
    pub is_current: bool,
    /// The one that was chosen.
    pub is_chosen: bool,
}

impl Mark {
    fn is_known(&self) -> bool {
        let is_in = |value: f64| (0.0..=MOST).contains(&value);
        is_in(self.cost) && is_in(self.mass_kg) && (0.0..=1.0).contains(&self.chance)
    }

    fn is_named(&self) -> bool {
        self.is_front || self.is_current || self.is_chosen
    }
}

/// Where marks stand and how large they are.
struct Scale {
    panel: Panel,
    cost: [f64; 2],
    mass: [f64; 2],
}

const INSET: f64 = 10.0;
const SMALLEST: f64 = 2.0;
const LARGEST: f64 = 6.5;

impl Scale {
    fn x(&self, cost: f64) -> f64 {
        let share = (cost - self.cost[0]) / (self.cost[1] - self.cost[0]).max(1e-12);
        LEFT + INSET + (RIGHT - LEFT - 2.0 * INSET) * share.clamp(0.0, 1.0)
    }

    fn at(&self, mark: &Mark) -> [f64; 2] {
        [self.x(mark.cost), self.panel.y(mark.chance * 100.0)]
    }

    fn radius(&self, mass: f64) -> f64 {
        let share = (mass - self.mass[0]) / (self.mass[1] - self.mass[0]).max(1e-12);
        SMALLEST + (LARGEST - SMALLEST) * share.clamp(0.0, 1.0)
    }
}

fn circle(x: f64, y: f64, r: f64) -> String {
    let (left, y, r, d) = (number(x - r), number(y), number(r), number(2.0 * r));
    format!("M{left} {y}a{r} {r} 0 1 0 {d} 0a{r} {r} 0 1 0 -{d} 0Z")
}

const HOLLOW: &str = "fill=\"#fbf8f1\" stroke=\"#221f1b\" stroke-width=\".7\"";
const FRONT: &str = "fill=\"#221f1b\" stroke=\"#fbf8f1\" stroke-width=\".8\"";
const CURRENT: &str = "fill=\"none\" stroke=\"#221f1b\" stroke-width=\"1\"";
const CHOSEN: &str = "fill=\"none\" stroke=\"#a63c17\" stroke-width=\"2.6\"";
const STEP: &str = "fill=\"none\" stroke=\"#221f1b\" stroke-width=\"1\" stroke-dasharray=\"3 1.5\"";

/// Ticks of a span that `values` fill.
fn span(values: impl Iterator<Item = f64>, want: usize) -> Vec<f64> {
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    nice_ticks(low, high, want)
}

fn ends(ticks: &[f64]) -> [f64; 2] {
    let low = ticks.first().copied().unwrap_or(0.0);
    [low, ticks.last().copied().filter(|high| *high > low).unwrap_or(low + 1.0)]
}

/// Designs by cost (across), chance of running out (up) and mass (size of the mark). `currency` stands at the axis.
/// Marks with a missing number are counted in a line of text and not drawn.
pub fn trade_off(marks: &[Mark], currency: &str) -> String {
    let title = "Designs: cost against the chance of running out";
    let mut known: Vec<&Mark> = marks.iter().filter(|mark| mark.is_known()).collect();
    let left_out = marks.len() - known.len();
    known.sort_by(|a, b| a.cost.total_cmp(&b.cost).then(a.chance.total_cmp(&b.chance)));
    let about = format!(
        "{} designs by cost, chance of running out in a year, and mass; {} of them are in the front: none other is \
         better in all three.",
        known.len(),
        known.iter().filter(|mark| mark.is_front).count()
    );
    let mut pen = Pen::new("trade", title, &about);
    if known.is_empty() {
        return pen.nothing(if left_out > 0 {
            "None of the designs has a cost, a mass and a chance, so there is nothing to compare."
        } else {
            "There are no designs to compare."
        });
    }
    let mass = ends(&span(known.iter().map(|mark| mark.mass_kg), 3));
    let top = key(&mut pen, &known, mass);
    let across = span(known.iter().map(|mark| mark.cost), 4);
    let up = nice_ticks(0.0, known.iter().map(|mark| mark.chance * 100.0).fold(0.0, f64::max), 5);
    let panel = Panel::new(&mut pen, [top + 22.0, top + 192.0], &up, "% of years in which it runs out");
    let scale = Scale { panel, cost: ends(&across), mass };
    for tick in &across {
        let (x, y) = (scale.x(*tick), panel.bottom);
        pen.line([x, y, x, y + 11.0], &format!("stroke=\"{INK}\" stroke-width=\".5\""));
        pen.text(x, y + 21.0, At::Middle, &shown(*tick, step_of(&across)));
    }
    let unit = crate::text::wrap(&format!("cost [{currency}]"), super::pen::SIZE, false, 200.0, 1).concat();
    pen.text(RIGHT, panel.bottom + 34.0, At::End, &unit);
    let (named, others): (Vec<&Mark>, Vec<&Mark>) = known.iter().copied().partition(|mark| mark.is_named());
    draw(&mut pen, &scale, &named, &others);
    let unplaced = numbers(&mut pen, &scale, &named);
    let mut y = panel.bottom + 50.0;
    if !named.is_empty() {
        y = table(&mut pen, y, [&unit, "runs out", "mass"], &rows(&named, &unplaced));
    }
    if left_out > 0 {
        pen.note(y + 2.0, &format!("Left out for want of a cost, a mass or a chance: {left_out}."));
    }
    pen.finish()
}

/// What the marks mean; gives the place below.
fn key(pen: &mut Pen, known: &[&Mark], mass: [f64; 2]) -> f64 {
    let mut keys = pen.keys(32.0, "");
    let any = |is: fn(&Mark) -> bool| known.iter().any(|mark| is(mark));
    let mut put = |pen: &mut Pen, name: &str, rings: &[(f64, &str)]| {
        let [x, y] = pen.key(&mut keys, name, 14.0);
        for (r, look) in rings {
            pen.path(&circle(x + 7.0, y, *r), look, "key");
        }
    };
    if any(|mark| mark.is_front) {
        put(pen, "front", &[(3.5, FRONT)]);
    }
    if any(|mark| !mark.is_named()) {
        put(pen, "other", &[(3.5, HOLLOW)]);
    }
    if any(|mark| mark.is_current) {
        put(pen, "as it is now", &[(3.0, FRONT), (5.2, CURRENT)]);
    }
    if any(|mark| mark.is_chosen) {
        put(pen, "chosen", &[(2.8, FRONT), (5.2, CHOSEN)]);
    }
    if any(|mark| mark.is_front) {
        pen.lined(&mut keys, "lowest chance for the money", STEP);
    }
    let mut sizes = pen.keys(keys.y + 14.0, "Mass:");
    for (kg, r) in
        [(mass[0], SMALLEST), (mass[0].midpoint(mass[1]), SMALLEST.midpoint(LARGEST)), (mass[1], LARGEST)]
    {
        let [x, y] = pen.key(&mut sizes, &Kilograms::new(kg).to_string(), 14.0);
        pen.path(&circle(x + 7.0, y, r), HOLLOW, "key");
    }
    sizes.y + 8.0
}

fn draw(pen: &mut Pen, scale: &Scale, named: &[&Mark], others: &[&Mark]) {
    let larger = |list: &[&Mark]| {
        let mut list: Vec<Mark> = list.iter().map(|mark| (*mark).clone()).collect();
        list.sort_by(|a, b| b.mass_kg.total_cmp(&a.mass_kg));
        list
    };
    for mark in larger(others) {
        let [x, y] = scale.at(&mark);
        pen.path(&circle(x, y, scale.radius(mark.mass_kg)), HOLLOW, "mark");
    }
    // The lowest chance that the money so far buys.
    let mut d = String::new();
    let (mut low, mut from) = (f64::INFINITY, LEFT);
    for mark in named.iter().filter(|mark| mark.is_front && mark.chance.is_finite()) {
        let [x, y] = scale.at(mark);
        if d.is_empty() {
            d.push_str(&format!("M{} {}", number(x), number(y)));
            from = x;
        } else if mark.chance < low {
            d.push_str(&format!("H{}V{}", number(x), number(y)));
            let before = scale.panel.y(low * 100.0);
            pen.crosses([x, y, x, before]);
            pen.crosses([from, before, x, before]);
            from = x;
        }
        low = low.min(mark.chance);
    }
    if !d.is_empty() {
        d.push_str(&format!("H{}", number(RIGHT - 2.0)));
        let y = scale.panel.y(low * 100.0);
        pen.crosses([from, y, RIGHT, y]);
        pen.path(&d, STEP, "front");
    }
    for mark in larger(named) {
        let [x, y] = scale.at(&mark);
        pen.path(
            &circle(x, y, scale.radius(mark.mass_kg)),
            if mark.is_front { FRONT } else { HOLLOW },
            "mark",
        );
    }
    for mark in named {
        let ([x, y], r) = (scale.at(mark), scale.radius(mark.mass_kg));
        if mark.is_current {
            pen.path(&circle(x, y, r + 1.8), CURRENT, "current");
        }
        if mark.is_chosen {
            pen.path(&circle(x, y, r + if mark.is_current { 4.6 } else { 2.6 }), CHOSEN, "chosen");
        }
    }
    for mark in named.iter().chain(others) {
        let ([x, y], r) = (scale.at(mark), scale.radius(mark.mass_kg));
        let r = if mark.is_named() { reach(scale, mark) - 0.4 } else { r * 0.7 };
        pen.crosses([x - r, y - r, x + r, y + r]);
    }
}

/// Numbers beside the named marks, with the name where there is room; gives those for which there was no place.
fn numbers(pen: &mut Pen, scale: &Scale, named: &[&Mark]) -> Vec<usize> {
    // Marks at the same place share one text.
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (at, mark) in named.iter().enumerate() {
        let [x, y] = scale.at(mark);
        let is_here = |group: &&mut Vec<usize>| {
            group.first().and_then(|first| named.get(*first)).is_some_and(|other| {
                let [x2, y2] = scale.at(other);
                (x - x2).abs() < 2.0 && (y - y2).abs() < 2.0
            })
        };
        match groups.iter_mut().find(is_here) {
            Some(group) => group.push(at),
            None => groups.push(vec![at]),
        }
    }
    let is_special = |group: &Vec<usize>| {
        group.iter().filter_map(|at| named.get(*at)).any(|mark| mark.is_chosen || mark.is_current)
    };
    groups.sort_by_key(|group| !is_special(group));
    let mut unplaced = Vec::new();
    for group in &groups {
        let members: Vec<(usize, &Mark)> =
            group.iter().filter_map(|at| named.get(*at).map(|mark| (*at, *mark))).collect();
        let Some((_, first)) = members.first() else { continue };
        let [x, y] = scale.at(first);
        let r = members.iter().map(|(_, mark)| reach(scale, mark)).fold(0.0, f64::max);
        let list: Vec<String> = members.iter().map(|(at, _)| (at + 1).to_string()).collect();
        let key = list.join(", ");
        let long: Vec<String> =
            members.iter().map(|(at, mark)| format!("{} {}", at + 1, mark.label)).collect();
        let long = long.join("; ");
        let has_room = named.len() <= 6 && crate::text::width(&long, SMALL, false) < 150.0;
        if has_room && pen.only_free(&around(x, y, r, scale.panel), &long, SMALL) {
            continue;
        }
        if !(pen.only_free(&around(x, y, r, scale.panel), &key, SMALL)
            || threaded(pen, [x, y, r], scale.panel, &key))
        {
            unplaced.extend(group);
        }
    }
    unplaced
}

fn reach(scale: &Scale, mark: &Mark) -> f64 {
    let rings = match (mark.is_chosen, mark.is_current) {
        (true, true) => 6.0,
        (true, false) => 4.0,
        (false, true) => 2.4,
        _ => 0.4,
    };
    scale.radius(mark.mass_kg) + rings
}

/// Places of a text around a mark.
fn around(x: f64, y: f64, r: f64, panel: Panel) -> Vec<(f64, f64, At)> {
    let d = 0.75 * r;
    let mut list = vec![
        (x + r + 1.5, y - 1.0, At::Start),
        (x + d + 1.0, y - d - 1.5, At::Start),
        (x, y - r - 2.5, At::Middle),
        (x - d - 1.0, y - d - 1.5, At::End),
        (x - r - 1.5, y - 1.0, At::End),
        (x - r - 1.5, y + 6.0, At::End),
        (x + r + 1.5, y + 6.0, At::Start),
        (x, y + r + 7.5, At::Middle),
    ];
    list.retain(|place| place.1 < panel.bottom - 1.5 && place.1 > panel.top - 2.0);
    list
}

/// A text further away, with a thread to its mark.
fn threaded(pen: &mut Pen, [x, y, r]: [f64; 3], panel: Panel, text: &str) -> bool {
    for far in [12.0, 20.0, 30.0, 42.0, 56.0, 72.0] {
        for (dx, dy) in
            [(0.6, -0.8), (0.0, -1.0), (-0.6, -0.8), (0.95, -0.3), (-0.95, -0.3), (0.8, 0.6), (-0.8, 0.6)]
        {
            let (tip_x, tip_y) = (x + (r + far) * dx, y + (r + far) * dy);
            let at = if dx > 0.1 {
                At::Start
            } else if dx < -0.1 {
                At::End
            } else {
                At::Middle
            };
            if tip_y < panel.bottom - 4.0
                && tip_y > panel.top
                && pen.only_free(&[(tip_x, tip_y, at)], text, SMALL)
            {
                let d = format!(
                    "M{} {}L{} {}",
                    number(x + r * dx),
                    number(y + r * dy),
                    number(tip_x),
                    number(tip_y)
                );
                pen.path(&d, &format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\".4\""), "thread");
                return true;
            }
        }
    }
    false
}

fn rows(named: &[&Mark], unplaced: &[usize]) -> Vec<Row> {
    let row = |(at, mark): (usize, &&Mark)| {
        let mut name = mark.label.clone();
        for (is, word) in [
            (mark.is_current, ", as it is now"),
            (mark.is_chosen, ", chosen"),
            (unplaced.contains(&at), ", no room for its number above"),
        ] {
            if is {
                name.push_str(word);
            }
        }
        let facts =
            [shown(mark.cost.round(), 1.0), percent(mark.chance), Kilograms::new(mark.mass_kg).to_string()];
        Row { number: at + 1, name, facts }
    };
    named.iter().enumerate().map(row).collect()
}
