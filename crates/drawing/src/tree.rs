//! One device and all that follows it, as a block: a line downwards, and rows to the right where it shares out.
//! Never: knows the sheet. Blocks of sources are grown the same way and turned upside down.
//! Start at [`Grower::grow`]; the rows are in `comb.rs`.

use model::{ConductorIx, DeviceIx, Pole, System};

use crate::graph::{Kid, Net, is_bus};
use crate::scene::{Anchor, Facing, Label, Line, Rect, Scene, Stroke, Symbol, at};
use crate::symbols::Glyph;
use crate::words::glyph;

/// Between symbol and text \[mm\].
pub const GAP: f64 = 1.5;

/// From a line that leaves a symbol to the text under it \[mm\].
const UNDER: f64 = 1.2;

/// A line that leaves a block to the right and rises to a source above the busbar.
pub struct Riser {
    /// Where it leaves its device.
    pub x: f64,
    /// Where it leaves its device.
    pub y: f64,
    /// How far right the block reaches from there upwards.
    pub clear: f64,
    /// The conductor and the first device of the source.
    pub kid: (ConductorIx, DeviceIx),
}

/// A grown block; its line comes in at the origin, from above.
#[derive(Default)]
pub struct Block {
    /// What it shows.
    pub scene: Scene,
    /// Lines to sources drawn above.
    pub risers: Vec<Riser>,
}

impl Block {
    /// Adds a block at a place.
    pub fn place(&mut self, other: Block, dx: f64, dy: f64) {
        self.scene.place(other.scene, dx, dy);
        self.risers.extend(other.risers.into_iter().map(|mut riser| {
            riser.x += dx;
            riser.y += dy;
            riser.clear += dx;
            riser
        }));
    }
}

/// Grows blocks.
pub struct Grower<'a> {
    /// The system.
    pub system: &'a System,
    /// Its tree.
    pub net: &'a Net,
    /// Tallest column of rows \[mm\].
    pub column: f64,
    /// Devices that stand in the bank or the way back already.
    pub is_placed: Vec<bool>,
}

/// Where the text of a symbol in a line down stands.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Beside {
    /// To the right.
    Right,
    /// To the right, below a line that leaves the symbol there.
    RightUnder,
}

/// How a block grows.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Downwards, sources within drawn in it.
    Down,
    /// Downwards, sources within drawn above the busbar.
    DownWithRisers,
    /// To be turned upside down.
    Up,
}

impl Grower<'_> {
    /// How a conductor's line is drawn.
    pub fn stroke(&self, conductor: ConductorIx) -> Stroke {
        match self.system.conductors.get(conductor).map(|conductor| conductor.pole) {
            Some(Pole::Line | Pole::Line2 | Pole::Neutral) => Stroke::Alternating,
            Some(Pole::Negative) => Stroke::Return,
            Some(Pole::Earth) => Stroke::Bond,
            Some(Pole::Positive) | None => Stroke::Direct,
        }
    }

    /// What is written along a conductor's line.
    pub fn run(&self, conductor: ConductorIx) -> Vec<Line> {
        self.net.runs.get(conductor).cloned().unwrap_or_default()
    }

    /// The conductors that a line stands for.
    pub fn all_of(&self, conductor: ConductorIx) -> Vec<ConductorIx> {
        let riding = self.net.riding.get(&conductor).into_iter().flatten();
        std::iter::once(conductor).chain(riding.copied()).collect()
    }

    /// Title and rating of a device.
    pub fn about(&self, device: DeviceIx) -> Vec<Line> {
        self.net.names.get(device).cloned().unwrap_or_default()
    }

    /// The first line of the rating of a device.
    pub fn rating(&self, device: DeviceIx) -> Vec<Line> {
        let names = self.net.names.get(device).into_iter().flatten();
        names.filter(|line| !line.is_bold).take(1).cloned().collect()
    }

    /// A symbol with its upper edge, or left edge when it faces right, at a point.
    pub fn symbol(&self, device: DeviceIx, x: f64, y: f64, facing: Facing) -> Symbol {
        let glyph =
            self.system.devices.get(device).map_or(Glyph::Electronic, |device| glyph(self.system, device));
        let (w, h) = glyph.size();
        let is_level = facing == Facing::Right && glyph.turns();
        let (w, h) = if is_level { (h, w) } else { (w, h) };
        let rect = match facing {
            Facing::Right => Rect { x, y: y - h / 2.0, w, h },
            _ => Rect { x: x - w / 2.0, y, w, h },
        };
        Symbol { glyph, rect, facing, device: Some(device), letter: String::new() }
    }

    /// Draws a conductor straight down from a point, with its text; returns where it ends.
    pub fn lead(&self, scene: &mut Scene, conductor: ConductorIx, x: f64, y: f64) -> f64 {
        let lines = self.run(conductor);
        let label = Label::new(lines).of_conductor(conductor);
        let length = if label.lines.is_empty() { 3.2 } else { label.rect.h + 2.6 };
        scene.wire(&[at(x, y), at(x, y + length)], self.stroke(conductor), self.all_of(conductor));
        if !label.lines.is_empty() {
            scene.labels.push(label.beside(x + GAP, y + length / 2.0, Anchor::Start));
        }
        y + length
    }

    /// Draws a device in a line down, with its text; returns the lower edge of its symbol and of the whole.
    pub fn stand(
        &self,
        scene: &mut Scene,
        device: DeviceIx,
        (x, y): (f64, f64),
        text: Beside,
        stroke: Stroke,
    ) -> (f64, f64) {
        let label = Label::new(self.about(device)).of_device(device);
        let mut symbol = self.symbol(device, x, y, Facing::Down);
        let (half, edge) = (symbol.rect.h / 2.0, symbol.rect.right() + GAP);
        let (middle, end) = match text {
            Beside::Right => {
                let height = symbol.rect.h.max(label.rect.h);
                (y + height / 2.0, y + height)
            }
            Beside::RightUnder => (y + half, y + half + half.max(label.rect.h + UNDER)),
        };
        symbol.rect.y = middle - half;
        if symbol.rect.y > y {
            scene.wire(&[at(x, y), at(x, symbol.rect.y)], stroke, Vec::new());
        }
        scene.labels.push(match text {
            Beside::Right => label.beside(edge, middle, Anchor::Start),
            Beside::RightUnder => label.below(edge, middle + UNDER),
        });
        let ink = symbol.rect.bottom();
        scene.symbols.push(symbol);
        (ink, end)
    }

    /// What follows a device; what is drawn elsewhere is only named.
    pub fn kids(&self, device: DeviceIx) -> Vec<Kid> {
        let kids = self.net.kids.get(device).into_iter().flatten();
        kids.map(|kid| match kid {
            Kid::Device(conductor, next) if self.is_placed.get(*next) == Some(&true) => {
                Kid::Named(*conductor, *next)
            }
            kid => kid.clone(),
        })
        .collect()
    }

    /// A device and all that follows it.
    pub fn grow(&self, entry: Option<ConductorIx>, device: DeviceIx, way: Way) -> Block {
        let mut block = Block::default();
        let mut y = 0.0;
        let mut stroke = Stroke::Direct;
        if let Some(conductor) = entry {
            stroke = self.stroke(conductor);
            y = self.lead(&mut block.scene, conductor, 0.0, 0.0);
        }
        let kids = self.kids(device);
        let rises = |kid: &&Kid| match kid {
            Kid::Device(_, first) => way == Way::DownWithRisers && self.net.brings(self.system, *first),
            _ => false,
        };
        let (risers, rest): (Vec<&Kid>, Vec<&Kid>) = kids.iter().partition(rises);
        let text = if risers.is_empty() { Beside::Right } else { Beside::RightUnder };
        let (ink, end) = self.stand(&mut block.scene, device, (0.0, y), text, stroke);
        let symbol = block.scene.symbols.last().map(|symbol| symbol.rect);
        if let Some(rect) = symbol {
            let clear = block.scene.bounds().right();
            for (index, kid) in risers.iter().enumerate() {
                if let Kid::Device(conductor, first) = kid {
                    let y = rect.y + rect.h / 2.0 - 2.2 * index as f64;
                    block.risers.push(Riser { x: rect.right(), y, clear, kid: (*conductor, *first) });
                }
            }
        }
        if rest.is_empty() {
            return block;
        }
        let spec = self.system.devices.get(device).map(|device| &device.spec);
        let bus = match spec {
            Some(model::Spec::AcPanel(_)) => Some(Stroke::AcBus),
            Some(spec) if is_bus(spec) => Some(Stroke::Bus),
            _ => None,
        };
        let next = match rest.first() {
            Some(Kid::Device(conductor, _) | Kid::Tag(conductor, ..) | Kid::Named(conductor, _)) => {
                self.stroke(*conductor)
            }
            None => stroke,
        };
        block.scene.wires.push(crate::scene::Wire {
            points: vec![at(0.0, ink), at(0.0, end)],
            stroke: bus.unwrap_or(next),
            conductors: Vec::new(),
            device: bus.map(|_| device),
        });
        match rest.as_slice() {
            [Kid::Device(conductor, only)] if bus.is_none() => {
                block.place(self.grow(Some(*conductor), *only, way), 0.0, end);
            }
            _ => {
                let comb = self.comb(&rest, bus.unwrap_or(next), bus.map(|_| device), way);
                block.place(comb, 0.0, end);
            }
        }
        for riser in &mut block.risers {
            // A line to a lower device must pass all that stands above it.
            let above =
                block.scene.boxes().filter(|rect| rect.y < riser.y + UNDER / 2.0).map(|rect| rect.right());
            riser.clear = above.fold(riser.clear, f64::max);
        }
        block
    }
}
