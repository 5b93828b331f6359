//! From a system to a scene: bank left, sources above the busbar, what they feed below it, oddities beside.
//! Never: leaves a device or conductor out. What fits no pattern is listed with both its ends named.
//! Start at [`layout`].

use model::{ConductorIx, DeviceIx, Spec, System};

use crate::graph::{Kid, Net};
use crate::scene::{Anchor, Label, Line, Scene, Stroke, Wire, at};
use crate::storage::Storage;
use crate::symbols::Glyph;
use crate::text::{SMALL, wrap};
use crate::tree::{Block, Grower, Way};
use crate::words::rating;

/// Between blocks \[mm\].
const BETWEEN: f64 = 7.0;
/// Widest text at the end of a listed conductor \[mm\].
const LISTED: f64 = 48.0;

/// Lays a system out, with columns of rows no taller than `column` \[mm\] where possible. The busbar is at y = 0.
pub fn layout(system: &System, net: &Net, column: f64) -> Scene {
    let mut grower = Grower { system, net, column, is_placed: vec![false; system.devices.len()] };
    let storage = Storage::of(&grower);
    let mut apart = net.apart.clone();
    let mut taps = Vec::new();
    let mut page = Scene::default();
    let (mut left_above, mut left_below) = (0.0, 0.0);
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
        None => {
            apart.extend(net.links.iter().copied());
            // Without a bank at the busbar the way back hangs nowhere: list its conductors, show its devices.
            apart.extend(net.way_back.iter().map(|(conductor, _)| *conductor));
        }
    }

    let mut parts = Parts { above: Vec::new(), below: Vec::new(), risers: Vec::new(), aside: Vec::new() };
    if let Some(root) = net.root {
        parts.of_root(&grower, root);
    }
    for (device, kid) in &taps {
        parts.aside.push(tapped(&grower, *device, kid));
    }
    let mut lone = Vec::new();
    let unplaced = if net.root.is_some() && page.symbols.is_empty() { &net.way_back[..] } else { &[] };
    let islands = net.islands.iter().copied().chain(unplaced.iter().map(|(_, device)| *device));
    for device in islands {
        if grower.kids(device).is_empty() {
            lone.push(device);
        } else {
            parts.aside.push(headed(grower.grow(None, device, Way::Down), "Not joined to the busbar"));
        }
    }
    if !lone.is_empty() {
        parts.aside.push(headed(lone_devices(&grower, &lone), "Not joined to anything drawn here"));
    }
    if !apart.is_empty() {
        parts.aside.push(headed(listed(&grower, &apart), "Outside the usual pattern"));
    }
    parts.compose(&grower, page, left_above, left_below)
}

struct Parts {
    above: Vec<Block>,
    below: Vec<Block>,
    /// Sources that join below: conductor, device, and index into `below` of the block whose riser it is.
    risers: Vec<usize>,
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
            if !block.risers.is_empty() {
                self.risers.push(self.below.len());
            }
            self.below.push(block);
        }
    }

    fn compose(self, grower: &Grower<'_>, mut page: Scene, left_above: f64, left_below: f64) -> Scene {
        let has_bar = grower.net.root.is_some();
        let bar_text = grower.net.root.map(|root| {
            let device = &grower.system.devices[root];
            let text = format!("{}, {}", device.title, rating(device).join(" "));
            Label::new(wrap(&text, crate::text::MAIN, true, 60.0, 2).into_iter().map(Line::title).collect()).of_device(root)
        });
        let extent = |blocks: &[Block]| -> f64 { blocks.iter().map(|block| block.scene.bounds().w + BETWEEN).sum() };
        let bar_room = bar_text.as_ref().map_or(0.0, |label| label.rect.w + BETWEEN);
        let (above, below) = (left_above + extent(&self.above), left_below.max(bar_room) + extent(&self.below));
        // The narrower side is spread, so that the sheet looks even.
        let spread = |mine: f64, other: f64, count: usize| {
            if count == 0 { 0.0 } else { ((other - mine) / count as f64).clamp(0.0, 26.0) }
        };
        let (more_above, more_below) =
            (spread(above, below, self.above.len()), spread(below, above, self.below.len()));

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
        let mut x = left_below.max(bar_room);
        let mut risers = Vec::new();
        for block in self.below {
            let bounds = block.scene.bounds();
            let dx = x - bounds.x.min(0.0);
            taps.push(dx);
            risers.extend(block.risers.into_iter().map(|riser| (riser.x + dx, riser.y, riser.clear + dx, riser.kid)));
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
            page.labels.push(label.below(-7.0, 2.4));
        }
        let mut x = right_below;
        for block in self.aside {
            let bounds = block.scene.bounds();
            let dx = x - bounds.x;
            page.place(block.scene, dx, 6.0 - bounds.y);
            x = dx + bounds.w + BETWEEN;
        }
        page
    }
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
            && !is(|spec| matches!(spec, Spec::Load(_) | Spec::FusePanel(_) | Spec::AcPanel(_) | Spec::Inverter(..))))
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
    let lines = grower.named(Some(device), "from");
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

/// Devices without a line, below each other.
fn lone_devices(grower: &Grower<'_>, devices: &[DeviceIx]) -> Block {
    let mut block = Block::default();
    let mut y = 0.0;
    for device in devices {
        let mut scene = Scene::default();
        let (_, end) = grower.stand(&mut scene, *device, 8.0, y, Anchor::Start, Stroke::Direct);
        scene.wires.clear();
        block.scene.place(scene, 0.0, 0.0);
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
        wrap(&format!("{title}, {terminal}"), SMALL, false, LISTED, 2).into_iter().map(Line::small).collect::<Vec<_>>()
    };
    let rows: Vec<_> = conductors
        .iter()
        .filter_map(|ix| {
            let conductor = system.conductors.get(*ix)?;
            Some((*ix, Label::new(end(conductor.from)), Label::new(grower.run(*ix)), Label::new(end(conductor.to))))
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
