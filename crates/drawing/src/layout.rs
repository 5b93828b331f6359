//! From a system to a scene: bank left, sources above the busbar, what they feed below it, oddities beside.
//! Never: leaves a device or conductor out. What fits no pattern is listed with both its ends named.
//! Start at [`layout`].

use model::{ConductorIx, DeviceIx, Spec, System};

use crate::graph::{Kid, Net};
use crate::scene::{Anchor, Label, Line, Scene, Stroke, Wire, at};
use crate::storage::Storage;
use crate::symbols::Glyph;
use crate::text::{SMALL, wrap};
use crate::tree::{Beside, Block, Grower, Way};

/// Between blocks \[mm\].
const BETWEEN: f64 = 7.0;
/// Widest text at the end of a listed conductor \[mm\].
const LISTED: f64 = 48.0;

/// Height at which a column of devices without a line ends \[mm\].
const LONE: f64 = 110.0;

/// What a layout is to keep to.
#[derive(Clone, Copy)]
pub struct Wish {
    /// Tallest column of rows \[mm\].
    pub column: f64,
    /// Height of the whole up to which blocks may stand below each other \[mm\]; zero: each has its own place.
    pub height: f64,
}

/// Lays a system out as wished where that is possible. The busbar is at y = 0.
pub fn layout(system: &System, net: &Net, wish: Wish) -> Scene {
    let mut grower =
        Grower { system, net, column: wish.column, is_placed: vec![false; system.devices.len()] };
    let storage = Storage::of(&grower);
    let mut apart = net.apart.clone();
    let mut taps = Vec::new();
    let mut page = Scene::default();
    let (mut left_above, mut left_below) = (0.0, 0.0);
    // Without a bank at the busbar the way back hangs nowhere: its conductors are listed, its devices stand aside.
    let has_way_back = storage.as_ref().is_some_and(|storage| storage.has_way_back);
    match storage {
        Some(storage) => {
            for device in &storage.devices {
                grower.is_placed[*device] = true;
            }
            apart.extend(storage.apart);
            taps = storage.taps;
            left_above = storage.right_above + BETWEEN;
            let below = storage.scene.boxes().filter(|rect| rect.bottom() > 0.5).map(|rect| rect.right());
            left_below = below.fold(0.0, f64::max) + BETWEEN;
            page = storage.scene;
        }
        None => apart.extend(net.links.iter().copied()),
    }
    if !has_way_back {
        apart.extend(net.way_back.iter().map(|(conductor, _)| *conductor));
    }

    let mut parts = Parts { above: Vec::new(), below: Vec::new(), aside: Vec::new() };
    if let Some(root) = net.root {
        parts.of_root(&grower, root);
    }
    for (device, kid) in &taps {
        parts.aside.push(tapped(&grower, *device, kid));
    }
    let (mut lone, mut returns) = (Vec::new(), Vec::new());
    let is_joined = |ix: DeviceIx| system.conductors.iter().any(|c| c.from.device == ix || c.to.device == ix);
    let unplaced = if has_way_back { &[] } else { &net.way_back[..] };
    let islands = net.islands.iter().copied().chain(unplaced.iter().map(|(_, device)| *device));
    for device in islands {
        if grower.kids(device).is_empty() {
            if is_joined(device) { returns.push(device) } else { lone.push(device) }
        } else {
            parts.aside.push(headed(grower.grow(None, device, Way::Down), "Not joined to the busbar"));
        }
    }
    if !lone.is_empty() {
        parts.aside.push(headed(lone_devices(&grower, &lone), "Not joined to anything"));
    }
    if !returns.is_empty() {
        parts.aside.push(headed(lone_devices(&grower, &returns), "In a return or bond only"));
    }
    if !apart.is_empty() {
        parts.aside.push(headed(listed(&grower, &apart), "Outside the usual pattern"));
    }
    parts.compose(&grower, page, (left_above, left_below), wish.height)
}

struct Parts {
    above: Vec<Block>,
    below: Vec<Block>,
    aside: Vec<Block>,
}

impl Parts {
    /// The blocks that hang from the busbar.
    fn of_root(&mut self, grower: &Grower<'_>, root: DeviceIx) {
        let system = grower.system;
        let mut direct = Vec::new();
        let mut feeders = Vec::new();
        for kid in net_kids(grower, root) {
            match &kid {
                Kid::Device(_, device) if grower.is_placed[*device] => {}
                Kid::Device(conductor, device) => {
                    if brings_or_stores(grower, *device) {
                        let mut block = grower.grow(Some(*conductor), *device, Way::Up);
                        block.scene.mirror();
                        self.above.push(block);
                    } else if grower.net.is_row(system, *device) {
                        direct.push(kid);
                    } else {
                        feeders.push((*conductor, *device));
                    }
                }
                _ => direct.push(kid),
            }
        }
        // What takes a source from above stands furthest right, so that no line crosses its neighbours.
        let rises = |device: DeviceIx| holds(grower, device, &|ix| grower.net.brings(system, ix));
        feeders.sort_by_key(|(_, device)| rises(*device));
        if !direct.is_empty() {
            let kids: Vec<&Kid> = direct.iter().collect();
            let mut block = Block::default();
            block.scene.wire(&[at(0.0, 0.0), at(0.0, 4.0)], Stroke::Bus, Vec::new());
            if let Some(wire) = block.scene.wires.last_mut() {
                wire.device = Some(root);
            }
            block.place(grower.comb(&kids, Stroke::Bus, Some(root), Way::Down), 0.0, 4.0);
            self.below.push(block);
        }
        let count = feeders.len();
        for (index, (conductor, device)) in feeders.into_iter().enumerate() {
            let way = if index + 1 == count { Way::DownWithRisers } else { Way::Down };
            let block = grower.grow(Some(conductor), device, way);
            self.below.push(block);
        }
    }

    fn compose(
        self,
        grower: &Grower<'_>,
        mut page: Scene,
        (left_above, left_below): (f64, f64),
        height: f64,
    ) -> Scene {
        let has_bar = grower.net.root.is_some();
        let up = self.above.iter().map(|block| -block.scene.bounds().y).fold(-page.bounds().y, f64::max);
        let (below, entries) = stack(self.below, height - up);
        let bar_text = grower.net.root.map(|root| Label::new(grower.about(root)).of_device(root));
        let extent =
            |blocks: &[Block]| -> f64 { blocks.iter().map(|block| block.scene.bounds().w + BETWEEN).sum() };
        let (wide_above, wide_below) = (left_above + extent(&self.above), left_below + extent(&below));
        // The narrower side is spread, so that the sheet looks even.
        let spread = |mine: f64, other: f64, count: usize| {
            if count == 0 { 0.0 } else { ((other - mine) / count as f64).clamp(0.0, 26.0) }
        };
        let (more_above, more_below) =
            (spread(wide_above, wide_below, self.above.len()), spread(wide_below, wide_above, below.len()));

        let mut taps: Vec<f64> = Vec::new();
        let mut x = left_above;
        for block in self.above {
            let bounds = block.scene.bounds();
            let dx = x - bounds.x.min(-6.0);
            taps.push(dx);
            page.place(block.scene, dx, 0.0);
            x = dx + bounds.right() + BETWEEN + more_above;
        }
        let right_above = x - more_above;
        let mut x = left_below;
        let mut risers = Vec::new();
        for (block, entries) in below.into_iter().zip(entries) {
            let bounds = block.scene.bounds();
            let dx = x - bounds.x.min(0.0);
            taps.extend(entries.into_iter().map(|entry| entry + dx));
            risers.extend(
                block.risers.into_iter().map(|riser| (riser.x + dx, riser.y, riser.clear + dx, riser.kid)),
            );
            page.place(block.scene, dx, 0.0);
            x = dx + bounds.right() + BETWEEN + more_below;
        }
        let mut right_below = x - more_below;
        let bar_right = taps.iter().copied().fold(14.0, f64::max) + 6.0;
        risers.sort_by(|a, b| a.1.total_cmp(&b.1));
        let mut free = right_above.max(bar_right + 5.0);
        for (from, level, clear, (conductor, device)) in risers {
            let mut block = grower.grow(Some(conductor), device, Way::Up);
            block.scene.mirror();
            let bounds = block.scene.bounds();
            let rise = (free - bounds.x).max(clear + 5.0);
            let points = [at(from, level), at(rise, level), at(rise, 0.0)];
            page.wire(&points, grower.stroke(conductor), grower.all_of(conductor));
            page.place(block.scene, rise, 0.0);
            free = rise + bounds.right() + BETWEEN;
            right_below = right_below.max(rise + BETWEEN);
        }
        if let (true, Some(root)) = (has_bar, grower.net.root) {
            let bar = Wire {
                points: vec![at(-7.0, 0.0), at(bar_right, 0.0)],
                stroke: Stroke::Bar,
                conductors: Vec::new(),
                device: Some(root),
            };
            page.wires.push(bar);
        }
        if let Some(label) = bar_text {
            page.labels.push(label.beside(-9.0, 0.0, Anchor::End));
        }
        if !self.aside.is_empty() {
            place_aside(&mut page, self.aside, right_below);
        }
        page
    }
}

/// Places what fits no pattern: in columns to the right, or in a row below, whichever keeps the sheet smaller.
fn place_aside(page: &mut Scene, blocks: Vec<Block>, right: f64) {
    let whole = page.bounds();
    let sizes: Vec<_> = blocks.iter().map(|block| block.scene.bounds()).collect();
    let tall = sizes.iter().map(|size| size.h).fold(whole.bottom() - 6.0, f64::max);
    let (mut columns, mut at_right) = ((right, 6.0, 0.0), Vec::new());
    for size in &sizes {
        let (x, y, widest) = &mut columns;
        if *y > 6.0 && *y + size.h > tall {
            (*x, *y, *widest) = (*x + *widest + BETWEEN, 6.0, 0.0);
        }
        at_right.push(at(*x, *y));
        *y += size.h + BETWEEN;
        *widest = f64::max(*widest, size.w);
    }
    let mut x = whole.x;
    let below: Vec<_> = sizes
        .iter()
        .map(|size| {
            let place = at(x, whole.bottom() + BETWEEN);
            x += size.w + 2.0 * BETWEEN;
            place
        })
        .collect();
    // The side of a standard sheet that the whole would need.
    let need = |places: &[crate::scene::Point]| {
        let (w, h) =
            places.iter().zip(&sizes).fold((whole.right(), whole.bottom()), |(w, h), (place, size)| {
                (w.max(place.x + size.w), h.max(place.y + size.h))
            });
        f64::max((w - whole.x) / 2f64.sqrt(), h - whole.y)
    };
    let places = if need(&at_right) <= need(&below) { at_right } else { below };
    for ((block, place), size) in blocks.into_iter().zip(places).zip(sizes) {
        page.place(block.scene, place.x - size.x, place.y - size.y);
    }
}

/// Stands blocks below each other as long as they stay within `room` \[mm\]. The lower one's line passes left of the
/// upper one. Gives the places where lines come in, block by block.
fn stack(blocks: Vec<Block>, room: f64) -> (Vec<Block>, Vec<Vec<f64>>) {
    let mut stacks: Vec<(Block, Vec<f64>)> = Vec::new();
    for block in blocks {
        let bounds = block.scene.bounds();
        let fits = |(upper, _): &&mut (Block, Vec<f64>)| {
            let is_plain = block.risers.is_empty() && upper.risers.is_empty() && bounds.x > -8.0;
            is_plain && upper.scene.bounds().bottom() + 4.0 + bounds.bottom() <= room
        };
        match stacks.iter_mut().find(fits) {
            Some((upper, entries)) => {
                let above = upper.scene.bounds();
                let top = above.bottom() + 4.0;
                let step = 3.0 - above.x.min(0.0);
                let mut both = Block::default();
                let stroke = block.scene.wires.first().map_or(Stroke::Direct, |wire| wire.stroke);
                let owner = block.scene.wires.first().and_then(|wire| wire.device);
                let points = vec![at(0.0, 0.0), at(0.0, top)];
                both.place(std::mem::take(upper), step, 0.0);
                both.scene.wires.push(Wire { points, stroke, conductors: Vec::new(), device: owner });
                both.place(block, 0.0, top);
                *upper = both;
                for entry in entries.iter_mut() {
                    *entry += step;
                }
                entries.push(0.0);
            }
            None => stacks.push((block, vec![0.0])),
        }
    }
    stacks.into_iter().unzip()
}

fn net_kids(grower: &Grower<'_>, device: DeviceIx) -> Vec<Kid> {
    grower.net.kids.get(device).cloned().unwrap_or_default()
}

/// Whether a device or one that follows it is as asked.
fn holds(grower: &Grower<'_>, device: DeviceIx, ask: &dyn Fn(DeviceIx) -> bool) -> bool {
    let mut stack = vec![device];
    while let Some(ix) = stack.pop() {
        if ask(ix) {
            return true;
        }
        stack.extend(grower.net.kids.get(ix).into_iter().flatten().filter_map(|kid| match kid {
            Kid::Device(_, next) => Some(*next),
            _ => None,
        }));
    }
    false
}

/// Whether a block belongs above the busbar: a source, or a battery of its own.
fn brings_or_stores(grower: &Grower<'_>, device: DeviceIx) -> bool {
    let system = grower.system;
    let is = |ask: fn(&Spec) -> bool| holds(grower, device, &|ix| ask(&system.devices[ix].spec));
    grower.net.brings(system, device)
        || (is(|spec| matches!(spec, Spec::Battery(_)))
            && !is(|spec| {
                matches!(spec, Spec::Load(_) | Spec::FusePanel(_) | Spec::AcPanel(_) | Spec::Inverter(..))
            }))
}

/// A block with a heading in the accent colour.
fn headed(block: Block, text: &str) -> Block {
    let bounds = block.scene.bounds();
    let line = Line { is_accent: true, ..Line::title(text) };
    let mut headed = Block::default();
    headed.place(block, 0.0, 0.0);
    headed.scene.labels.push(Label::new(vec![line]).above(bounds.x, bounds.y - 1.6));
    headed
}

/// What hangs on a device of the bank or the way back: drawn apart, with that device named.
fn tapped(grower: &Grower<'_>, device: DeviceIx, kid: &Kid) -> Block {
    let lines = grower.named(device, "from");
    let mut block = Block::default();
    match kid {
        Kid::Device(conductor, next) if !grower.is_placed[*next] => {
            block.place(grower.grow(Some(*conductor), *next, Way::Down), 0.0, 0.0);
        }
        kid => block.place(grower.comb(&[kid], Stroke::Direct, None, Way::Down), 0.0, 0.0),
    }
    block.scene.labels.push(Label::new(lines).above(-1.0, -1.0));
    let mut block = headed(block, "Joined to the bank itself");
    block.risers.clear();
    block
}

/// Devices without a line, below each other, in columns.
fn lone_devices(grower: &Grower<'_>, devices: &[DeviceIx]) -> Block {
    let mut block = Block::default();
    let (mut x, mut y, mut right) = (0.0, 0.0, 0.0);
    for device in devices {
        if y > LONE {
            (x, y) = (right + BETWEEN, 0.0);
        }
        let mut scene = Scene::default();
        let (_, end) = grower.stand(&mut scene, *device, (8.0, y), Beside::Right, Stroke::Direct);
        scene.wires.clear();
        block.scene.place(scene, x, 0.0);
        right = block.scene.bounds().right();
        y = end + 2.4;
    }
    block
}

/// Conductors that are drawn on no line: each with the names of its two ends.
fn listed(grower: &Grower<'_>, conductors: &[ConductorIx]) -> Block {
    let system = grower.system;
    let end = |at: model::TerminalRef| {
        let title = system.devices.get(at.device).map_or("?", |device| device.title.as_str());
        let terminal = system.terminal(at).map_or("", |terminal| terminal.name.as_str());
        let name = if matches!(terminal, "bar" | "bond" | "") {
            title.to_owned()
        } else {
            format!("{title}, {terminal}")
        };
        wrap(&name, SMALL, false, LISTED, 2).into_iter().map(Line::small).collect::<Vec<_>>()
    };
    let rows: Vec<_> = conductors
        .iter()
        .filter_map(|ix| {
            let conductor = system.conductors.get(*ix)?;
            Some((
                *ix,
                Label::new(end(conductor.from)),
                Label::new(grower.run(*ix)),
                Label::new(end(conductor.to)),
            ))
        })
        .collect();
    let widest = |of: fn(&(ConductorIx, Label, Label, Label)) -> f64| rows.iter().map(of).fold(0.0, f64::max);
    let from = widest(|row| row.1.rect.w);
    let to = from + 2.0 + (widest(|row| row.2.rect.w) + 4.0).max(14.0);
    let mut block = Block::default();
    let mut y = 0.0;
    for (ix, near, run, far) in rows {
        let up = (near.rect.h.max(far.rect.h) / 2.0 + 0.6).max(3.4);
        let down = up.max(run.rect.h + 1.4);
        y += up;
        let scene = &mut block.scene;
        scene.labels.push(near.of_conductor(ix).beside(from, y, Anchor::End));
        scene.wire(&[at(from + 2.0, y), at(to, y)], grower.stroke(ix), grower.all_of(ix));
        if !run.lines.is_empty() {
            scene.labels.push(run.of_conductor(ix).below(from + 4.0, y + 0.7));
        }
        let arrow = crate::comb::mark(Glyph::Arrow, to, y, "");
        scene.labels.push(far.of_conductor(ix).beside(arrow.rect.right() + 1.2, y, Anchor::Start));
        scene.symbols.push(arrow);
        y += down;
    }
    block
}
