//! The way of a cable through the vehicle: from where it ends along the declared channels to where it ends again, the shortest.
//! Never: knows a cable's size, judges a way. Lengths are whole millimetres, so that the same plan gives the same way.
//! Start at [`Ways::of`], [`Ways::between`]; [`seat`] tells at which point of the plan a device stands.
//!
//! Between a point and a channel, and from channel to channel where they nearly meet, a cable goes square to the axes.
//! There it has to be fixed by itself, so that stretch counts double in the choice of the way, and once in its length.

use std::collections::{BTreeMap, BTreeSet};

use model::{Intent, Name, Spec};
use quantity::Metres;

/// How near the corner of one channel must be to another for a cable to go over \[mm\].
const JOINT_MM: i32 = 60;

/// A place of the plan \[mm\]: forwards, to the left, upwards.
pub type Spot = [i32; 3];

/// A stretch of a way.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Stretch {
    /// Its start.
    pub from_mm: Spot,
    /// Its end.
    pub to_mm: Spot,
    /// The channel in which it lies; `None` where the cable goes by itself.
    pub channel: Option<String>,
}

impl Stretch {
    /// Length \[mm\].
    pub fn length_mm(&self) -> i32 {
        straight(self.from_mm, self.to_mm)
    }
}

/// A way.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Way {
    /// Its stretches in order.
    pub stretches: Vec<Stretch>,
}

impl Way {
    /// Length \[mm\].
    pub fn length_mm(&self) -> i32 {
        self.stretches.iter().map(Stretch::length_mm).sum()
    }
    /// Length, up to the next centimetre.
    pub fn length(&self) -> Metres {
        Metres::new(f64::from((self.length_mm() + 9) / 10) / 100.0)
    }
    /// The channels that it takes, in order.
    pub fn channels(&self) -> Vec<&str> {
        let mut all: Vec<&str> = Vec::new();
        for name in self.stretches.iter().filter_map(|stretch| stretch.channel.as_deref()) {
            if all.last() != Some(&name) {
                all.push(name);
            }
        }
        all
    }
    /// In words: `along sill, left-wall`.
    pub fn words(&self) -> String {
        let channels = self.channels();
        if channels.is_empty() {
            "square to the walls, by no channel".to_owned()
        } else {
            format!("along {}", channels.join(", "))
        }
    }
}

/// The plan as a net of ways.
#[derive(Clone, Debug)]
pub struct Ways {
    /// Where each thing stands, by its path in intent.toml, with the name of the point.
    points: BTreeMap<String, (Spot, String)>,
    /// Stretches of channels, each straight.
    straights: Vec<(String, Spot, Spot)>,
}

impl Ways {
    /// Of the plan in a project; `None` without a plan.
    pub fn of(intent: &Intent) -> Option<Self> {
        let plan = intent.plan.as_ref()?;
        let points = plan
            .points
            .iter()
            .filter_map(|(name, point)| {
                Some((plan.stands_for(intent, name, point)?, (point.millimetres(), name.to_string())))
            })
            .collect();
        let straights = plan
            .channels
            .iter()
            .flat_map(|(name, channel)| {
                let corners: Vec<Spot> = channel.points.iter().map(|point| point.millimetres()).collect();
                corners.windows(2).map(|pair| (name.to_string(), pair[0], pair[1])).collect::<Vec<_>>()
            })
            .collect();
        Some(Self { points, straights })
    }

    /// Where something stands, by its path in intent.toml.
    pub fn spot(&self, path: &str) -> Option<Spot> {
        self.points.get(path).map(|(spot, _)| *spot)
    }

    /// The name of the point where something stands.
    pub fn name(&self, path: &str) -> Option<&str> {
        self.points.get(path).map(|(_, name)| name.as_str())
    }

    /// The point at which one of these stands: the first that the plan has.
    pub fn seat(&self, paths: &[String]) -> Option<&str> {
        paths.iter().find_map(|path| self.points.get_key_value(path)).map(|(path, _)| path.as_str())
    }

    /// The ends of the run whose length stands at a path of intent.toml, such as `loads.fridge.length`, as the plan has them.
    ///
    /// `is_ac`: whether a load runs on alternating current, which its part may say instead of the person.
    pub fn ends_of(&self, intent: &Intent, path: &str, is_ac: bool) -> Option<(&str, &str)> {
        let (place, field) = path.rsplit_once('.')?;
        if field != "length" {
            return None;
        }
        let board = || "board".to_owned();
        let (from, to) = match place.split_once('.') {
            Some(("loads", name)) => {
                let load = intent.loads.get(&Name::new(name).ok()?)?;
                let from = match (&load.panel, is_ac) {
                    (_, true) => vec!["ac".to_owned(), board()],
                    (Some(panel), _) => vec![format!("panels.{panel}"), board()],
                    (None, _) => vec![board()],
                };
                (from, vec![place.to_owned()])
            }
            Some(("panels" | "converters", _)) => (vec![board()], vec![place.to_owned()]),
            Some(("solar", _)) => (vec![place.to_owned()], vec![board()]),
            None if matches!(place, "bank" | "engine") => (vec![place.to_owned()], vec![board()]),
            None if matches!(place, "shore" | "generator") => {
                (vec![place.to_owned()], vec!["ac".to_owned(), board()])
            }
            None if matches!(place, "inverter" | "charger") => (vec![board()], vec![place.to_owned()]),
            None if place == "ac" => (vec!["inverter".to_owned(), board()], vec!["ac".to_owned(), board()]),
            _ => return None,
        };
        Some((self.seat(&from)?, self.seat(&to)?))
    }

    /// The way between two things, by their paths; `None` where the plan lacks one of them or both are one.
    pub fn between(&self, from: &str, to: &str) -> Option<Way> {
        if from == to {
            return None;
        }
        // The same way whichever end is named first.
        let is_turned = from > to;
        let (first, second) = if is_turned { (to, from) } else { (from, to) };
        let mut way = self.shortest(self.spot(first)?, self.spot(second)?)?;
        if is_turned {
            way.stretches.reverse();
            for stretch in &mut way.stretches {
                std::mem::swap(&mut stretch.from_mm, &mut stretch.to_mm);
            }
        }
        Some(way)
    }

    /// Dijkstra's algorithm over the corners of the channels and the places where a cable enters or leaves one.
    fn shortest(&self, from: Spot, to: Spot) -> Option<Way> {
        let mut net = Net::default();
        let (start, end) = (net.node(from), net.node(to));
        net.join(start, end, square(from, to) * 2, None);
        // What each straight is cut at: its ends, where the two points come to it, where another channel's corner does.
        for (name, a, b) in &self.straights {
            let mut cuts: BTreeSet<(i32, Spot)> = [(0, *a), (straight(*a, *b), *b)].into();
            for point in [from, to] {
                let at = nearest(point, *a, *b);
                cuts.insert((straight(*a, at), at));
                let (here, there) = (net.node(point), net.node(at));
                net.join(here, there, square(point, at) * 2, None);
            }
            for (other, c, d) in &self.straights {
                for corner in [*c, *d] {
                    let at = nearest(corner, *a, *b);
                    if other != name && square(corner, at) <= JOINT_MM {
                        cuts.insert((straight(*a, at), at));
                        let (here, there) = (net.node(corner), net.node(at));
                        net.join(here, there, square(corner, at) * 2, None);
                    }
                }
            }
            let cuts: Vec<Spot> = cuts.into_iter().map(|(_, at)| at).collect();
            for pair in cuts.windows(2) {
                let (here, there) = (net.node(pair[0]), net.node(pair[1]));
                net.join(here, there, straight(pair[0], pair[1]), Some(name));
            }
        }
        let nodes = net.way(start, end)?;
        let mut stretches: Vec<Stretch> = Vec::new();
        for pair in nodes.windows(2) {
            let (here, there) = (net.spots[pair[0]], net.spots[pair[1]]);
            let channel = net.channel(pair[0], pair[1]);
            match channel {
                Some(_) => push(&mut stretches, here, there, channel),
                None => {
                    // Square: up or down first where it leaves the floor, then along, then across.
                    let mut at = here;
                    for axis in [2, 0, 1] {
                        let mut next = at;
                        next[axis] = there[axis];
                        push(&mut stretches, at, next, None);
                        at = next;
                    }
                }
            }
        }
        Some(Way { stretches })
    }
}

/// Adds a stretch; one that goes on in the same line of the same channel is made longer.
fn push(stretches: &mut Vec<Stretch>, from_mm: Spot, to_mm: Spot, channel: Option<String>) {
    if from_mm == to_mm {
        return;
    }
    if let Some(last) = stretches.last_mut()
        && last.channel == channel
        && last.to_mm == from_mm
        && straight(last.from_mm, from_mm) + straight(from_mm, to_mm) == straight(last.from_mm, to_mm)
        && cross_is_zero(last.from_mm, from_mm, to_mm)
    {
        last.to_mm = to_mm;
        return;
    }
    stretches.push(Stretch { from_mm, to_mm, channel });
}

fn cross_is_zero(a: Spot, b: Spot, c: Spot) -> bool {
    let [u, v] = [[a, b], [b, c]].map(|[p, q]| [0, 1, 2].map(|axis| i64::from(q[axis]) - i64::from(p[axis])));
    [(0, 1), (1, 2), (2, 0)].into_iter().all(|(i, j)| u[i] * v[j] == u[j] * v[i])
}

/// Distance in a straight line \[mm\], rounded.
fn straight(a: Spot, b: Spot) -> i32 {
    let square: f64 = (0..3).map(|axis| f64::from(a[axis] - b[axis]) * f64::from(a[axis] - b[axis])).sum();
    square.sqrt().round() as i32
}

/// Distance square to the axes \[mm\].
fn square(a: Spot, b: Spot) -> i32 {
    (0..3).map(|axis| (a[axis] - b[axis]).abs()).sum()
}

/// The nearest place of a straight to a point.
fn nearest(point: Spot, a: Spot, b: Spot) -> Spot {
    let along: [f64; 3] = [0, 1, 2].map(|axis| f64::from(b[axis] - a[axis]));
    let length: f64 = along.iter().map(|part| part * part).sum();
    let reach: f64 = (0..3).map(|axis| f64::from(point[axis] - a[axis]) * along[axis]).sum();
    let share = if length > 0.0 { (reach / length).clamp(0.0, 1.0) } else { 0.0 };
    [0, 1, 2].map(|axis| a[axis] + (along[axis] * share).round() as i32)
}

/// Places with what joins them.
#[derive(Default)]
struct Net {
    spots: Vec<Spot>,
    by_spot: BTreeMap<Spot, usize>,
    /// Neighbours with the cost of going there and the channel, the cheapest of several.
    joins: Vec<BTreeMap<usize, (i32, Option<String>)>>,
}

impl Net {
    fn node(&mut self, spot: Spot) -> usize {
        if let Some(node) = self.by_spot.get(&spot) {
            return *node;
        }
        self.spots.push(spot);
        self.joins.push(BTreeMap::new());
        self.by_spot.insert(spot, self.spots.len() - 1);
        self.spots.len() - 1
    }

    fn join(&mut self, a: usize, b: usize, cost: i32, channel: Option<&String>) {
        if a == b {
            return;
        }
        for (here, there) in [(a, b), (b, a)] {
            let entry = self.joins[here].entry(there).or_insert((cost, channel.cloned()));
            if cost < entry.0 {
                *entry = (cost, channel.cloned());
            }
        }
    }

    fn channel(&self, a: usize, b: usize) -> Option<String> {
        self.joins.get(a)?.get(&b)?.1.clone()
    }

    /// The cheapest way as a list of nodes; of equal ones the one through the nodes that were entered first.
    fn way(&self, start: usize, end: usize) -> Option<Vec<usize>> {
        let mut best: BTreeMap<usize, (i64, usize)> = [(start, (0, start))].into();
        let mut open: BTreeSet<(i64, usize)> = [(0, start)].into();
        while let Some((cost, node)) = open.pop_first() {
            if node == end {
                break;
            }
            for (next, (step, _)) in &self.joins[node] {
                let cost = cost + i64::from(*step);
                match best.get(next) {
                    Some((known, _)) if *known <= cost => {}
                    known => {
                        if let Some((known, _)) = known {
                            open.remove(&(*known, *next));
                        }
                        best.insert(*next, (cost, node));
                        open.insert((cost, *next));
                    }
                }
            }
        }
        let mut nodes = vec![end];
        let mut at = end;
        while at != start {
            at = best.get(&at)?.1;
            nodes.push(at);
        }
        nodes.reverse();
        Some(nodes)
    }
}

/// Where a device stands by what it is, as paths of intent.toml, the likeliest first; empty for a fuse, breaker, disconnect or
/// shunt, which stand beside what they guard, and for the chassis, which is everywhere.
pub fn seat(spec: &Spec, intent: &str) -> Vec<String> {
    let board = || "board".to_owned();
    match spec {
        Spec::Load(load) => vec![load.intent.clone()],
        Spec::Array(array) => vec![format!("solar.{}", array.name)],
        Spec::Battery(_) => vec!["bank".to_owned()],
        Spec::StartBattery(_) | Spec::Alternator(_) => vec!["engine".to_owned()],
        Spec::Inlet(_) => vec!["shore".to_owned()],
        Spec::Generator(_) => vec!["generator".to_owned()],
        Spec::FusePanel(_) | Spec::Converter(_) => vec![intent.to_owned(), board()],
        Spec::Inverter(..) => vec!["inverter".to_owned(), board()],
        Spec::Charger(..) => vec!["charger".to_owned(), board()],
        Spec::AcPanel(_) => vec!["ac".to_owned(), board()],
        Spec::Busbar(_)
        | Spec::DcDc(..)
        | Spec::Controller(..)
        | Spec::Relay(_)
        | Spec::TransferSwitch(_) => {
            vec![board()]
        }
        Spec::Fuse(_) | Spec::Breaker(_) | Spec::Disconnect(_) | Spec::Shunt(_) | Spec::Chassis => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ways(straights: &[(&str, Spot, Spot)], points: &[(&str, Spot)]) -> Ways {
        Ways {
            points: points.iter().map(|(name, at)| ((*name).to_owned(), (*at, (*name).to_owned()))).collect(),
            straights: straights.iter().map(|(name, a, b)| ((*name).to_owned(), *a, *b)).collect(),
        }
    }

    #[test]
    fn a_cable_enters_a_channel_square_and_leaves_it_square() {
        let ways = ways(
            &[("sill", [0, 0, 0], [4000, 0, 0])],
            &[("board", [1000, 300, 0]), ("fridge", [3000, 0, 400])],
        );
        let way = ways.between("board", "fridge").unwrap();
        assert_eq!(way.length_mm(), 300 + 2000 + 400);
        assert_eq!(way.channels(), ["sill"]);
        let back = ways.between("fridge", "board").unwrap();
        assert_eq!(back.length_mm(), way.length_mm());
        assert_eq!(back.stretches[0].from_mm, [3000, 0, 400]);
        assert_eq!(back.stretches.last().unwrap().to_mm, [1000, 300, 0]);
    }

    #[test]
    fn channels_join_where_a_corner_of_one_lies_on_the_other() {
        let net = [("sill", [0, 0, 0], [4000, 0, 0]), ("post", [2000, 0, 0], [2000, 0, 1800])];
        let points = [("board", [500, 0, 0]), ("fan", [2000, 0, 1500])];
        assert_eq!(ways(&net, &points).between("board", "fan").unwrap().channels(), ["sill", "post"]);
        // A post 100 mm beside it is no joint: then the air is as near.
        let apart = [net[0], ("post", [2000, 100, 0], [2000, 100, 1800])];
        let way = ways(&apart, &points).between("board", "fan").unwrap();
        assert_ne!(way.channels(), ["sill", "post"]);
    }

    #[test]
    fn the_end_of_the_world_is_reached_without_a_channel() {
        let way = ways(&[], &[("a", [0, 0, 0]), ("b", [300, 400, 0])]).between("a", "b").unwrap();
        assert_eq!((way.length_mm(), way.channels().len()), (700, 0));
        assert!(ways(&[], &[("a", [0, 0, 0])]).between("a", "b").is_none());
    }

    /// Another algorithm on the same net: Floyd and Warshall's, which tries every place in between.
    #[test]
    fn the_way_is_the_shortest_by_another_algorithm() {
        let mut state = 7u64;
        let mut draw = |most: i32| {
            state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            ((state >> 33) % most as u64) as i32
        };
        for _ in 0..60 {
            let count = 12;
            let mut net = Net::default();
            for place in 0..count {
                net.node([place as i32, 0, 0]);
            }
            for _ in 0..26 {
                let (a, b) = (draw(count as i32) as usize, draw(count as i32) as usize);
                net.join(a, b, 1 + draw(900), None);
            }
            let mut cost = vec![vec![i64::from(i32::MAX); count]; count];
            for (a, row) in cost.iter_mut().enumerate() {
                row[a] = 0;
                for (b, (step, _)) in &net.joins[a] {
                    row[*b] = i64::from(*step);
                }
            }
            for middle in 0..count {
                for a in 0..count {
                    for b in 0..count {
                        cost[a][b] = cost[a][b].min(cost[a][middle] + cost[middle][b]);
                    }
                }
            }
            for (end, cost) in cost[0].iter().enumerate().skip(1) {
                match net.way(0, end) {
                    Some(way) => {
                        let sum: i64 =
                            way.windows(2).map(|pair| i64::from(net.joins[pair[0]][&pair[1]].0)).sum();
                        assert_eq!(sum, *cost);
                    }
                    None => assert!(*cost >= i64::from(i32::MAX)),
                }
            }
        }
    }
}
