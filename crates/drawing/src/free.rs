//! Finds a place for words where no other words stand and, if it can, no line runs.
//! Never: moves what stands already.
//! Start at [`Free::settle`].

use crate::plate::Words;
use crate::scene::{Point, Rect};

/// What is taken on a sheet.
#[derive(Clone)]
pub struct Free {
    /// Boxes of words, which nothing may cover.
    pub taken: Vec<Rect>,
    /// Boxes of lines and marks, which words avoid, with how much they mind \[mm of way\].
    pub minded: Vec<(Rect, f64)>,
    /// Paper kept around words \[mm\].
    pub air: f64,
}

impl Default for Free {
    fn default() -> Self {
        Self { taken: Vec::new(), minded: Vec::new(), air: 0.4 }
    }
}

/// Step of the search \[mm\].
const STEP: f64 = 3.0;
impl Free {
    /// Marks a box as taken by words.
    pub fn take(&mut self, rect: Rect) {
        self.taken.push(rect);
    }
    /// Marks a line through corners as something to avoid.
    pub fn mind_line(&mut self, points: &[Point], width: f64, cost: f64) {
        let half = width / 2.0;
        for pair in points.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let rect = Rect {
                x: a.x.min(b.x) - half,
                y: a.y.min(b.y) - half,
                w: (a.x - b.x).abs() + width,
                h: (a.y - b.y).abs() + width,
            };
            self.minded.push((rect, cost));
        }
    }
    /// Marks a box as something to avoid.
    pub fn mind(&mut self, rect: Rect, cost: f64) {
        self.minded.push((rect, cost));
    }
    /// Whether a box lies over no words.
    pub fn is_free(&self, rect: &Rect) -> bool {
        let air = self.air;
        let own = Rect { x: rect.x - air, y: rect.y - air, w: rect.w + 2.0 * air, h: rect.h + 2.0 * air };
        !self.taken.iter().any(|other| own.overlaps(other, 0.0))
    }
    fn cost(&self, rect: &Rect) -> f64 {
        self.minded.iter().filter(|(other, _)| rect.overlaps(other, 0.0)).map(|(_, cost)| cost).sum()
    }
    /// Sets words with the middle of their box as near to a place as is free, within a box, and takes that place.
    /// How far they may go is bounded only by the box; `None` where nothing at all is free.
    pub fn settle(&mut self, words: &[Words], near: Point, within: Rect) -> Option<Vec<Words>> {
        // Lines that read upwards stand side by side.
        let is_turned = words.first().is_some_and(|line| line.is_turned);
        let deep: f64 = words.iter().map(|line| line.size * crate::text::LINE).sum();
        let long = |of: fn((f64, f64)) -> f64| words.iter().map(|line| of(line.extent())).fold(0.0, f64::max);
        let (w, h) =
            if is_turned { (deep, long(|extent| extent.1)) } else { (long(|extent| extent.0), deep) };
        let mut best: Option<(f64, f64, f64)> = None;
        let rings = (within.w.max(within.h) / STEP).ceil() as i32;
        for ring in 0..=rings {
            let least = f64::from(ring) * STEP;
            if best.is_some_and(|(cost, ..)| cost <= least) {
                break;
            }
            for (i, j) in around(ring) {
                let (dx, dy) = (f64::from(i) * STEP, f64::from(j) * STEP);
                let rect = Rect { x: near.x + dx - w / 2.0, y: near.y + dy - h / 2.0, w, h };
                let is_inside = rect.x >= within.x
                    && rect.y >= within.y
                    && rect.right() <= within.right()
                    && rect.bottom() <= within.bottom();
                let way = (dx * dx + dy * dy).sqrt();
                if !is_inside || best.is_some_and(|(cost, ..)| cost <= way) || !self.is_free(&rect) {
                    continue;
                }
                let cost = way + self.cost(&rect);
                if best.is_none_or(|(least, ..)| cost < least) {
                    best = Some((cost, rect.x, rect.y));
                }
            }
        }
        let (_, x, y) = best?;
        self.take(Rect { x, y, w, h });
        let mut down = 0.0;
        let mut set = Vec::new();
        for line in words {
            let (own_w, own_h) = line.extent();
            let gap = line.size * (crate::text::LINE - 1.0) / 2.0;
            set.push(if is_turned {
                line.clone().corner(x + down + gap, y + (h - own_h) / 2.0)
            } else {
                line.clone().corner(x + (w - own_w) / 2.0, y + down + gap)
            });
            down += line.size * crate::text::LINE;
        }
        Some(set)
    }
}

/// The steps of a square ring, always in the same order.
fn around(ring: i32) -> impl Iterator<Item = (i32, i32)> {
    (-ring..=ring).flat_map(move |i| {
        (-ring..=ring).filter(move |j| i.abs() == ring || j.abs() == ring).map(move |j| (i, j))
    })
}
