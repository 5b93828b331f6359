//! The board itself: what the person said of it, and an assumption for each thing that nobody said.
//! Never: places anything on it.
//! Start at [`Plan::of`].

use model::{Assumption, BoardArea, BoardIntent, BoardMaterial, Craft, Orientation, Side};
use quantity::{Kilograms, Metres, Written};
use reference::Reference;
use serde::Serialize;

use crate::footprint::{Body, density_kg_m3, millimetres};
use crate::geometry::{Outline, Rect};

/// A board with nothing on it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plan {
    /// Its edge.
    pub outline: Outline,
    /// What is cut out of it.
    pub notches: Vec<Rect>,
    /// Where nothing is screwed and no cable laid.
    pub keep_out: Vec<Rect>,
    /// Thickness.
    pub thickness: Metres,
    /// What it is made of.
    pub material: BoardMaterial,
    /// How it hangs.
    pub orientation: Orientation,
    /// The side of the hand and how far it reaches [mm]; `None` where the front is free.
    pub access: Option<(Side, i32)>,
    /// Where cables leave.
    pub entry: Side,
    /// Strip along the edge in which nothing stands [mm].
    pub margin_mm: i32,
    /// Screws that hold it: x, y [mm].
    pub fixings_mm: Vec<(i32, i32)>,
    /// Mass that one of them holds.
    pub fixing_load: Kilograms,
    /// Mass of the board.
    pub mass: Kilograms,
    /// Whether its size was worked out because nobody said it.
    pub is_sized: bool,
}

/// How far from the corner an assumed fixing stands [mm]: two diameters of its 6 mm hole, and a little.
const FIXING_INSET_MM: i32 = 15;
/// Diameter of a fixing hole of the board [mm].
pub const FIXING_HOLE_MM: f64 = 6.0;

impl Plan {
    /// The board that the person described, and what was assumed. Where no size is said, it comes from the bodies.
    pub fn of(
        wanted: &BoardIntent,
        craft: Craft,
        bodies: &[Body],
        pinned: &[Rect],
    ) -> (Self, Vec<Assumption>) {
        let mut assumed = Assumed(Vec::new());
        let margin = assumed.length(
            "edge_margin",
            wanted.edge_margin,
            0.02,
            "room for the edge, a frame and screws; common practice, no source",
        );
        let margin_mm = millimetres(margin);
        let (outline, is_sized) = match (wanted.outline.is_empty(), wanted.width, wanted.height) {
            (false, ..) => {
                let corners = wanted.outline.iter().map(|p| (millimetres(p.x), millimetres(p.y))).collect();
                (Outline { corners_mm: corners }, false)
            }
            (true, Some(width), Some(height)) => {
                (Outline::rectangle(millimetres(width), millimetres(height)), false)
            }
            _ => (first_size(bodies, pinned, margin_mm), true),
        };
        let thickness = assumed.length(
            "thickness",
            wanted.thickness,
            0.015,
            "holds wood screws and does not bow; common practice, no source",
        );
        let material = assumed.word(
            "material",
            wanted.material,
            BoardMaterial::Plywood,
            BoardMaterial::word,
            "the usual material; it insulates and holds screws",
        );
        let orientation = assumed.word(
            "orientation",
            wanted.orientation,
            Orientation::Upright,
            Orientation::word,
            "most boards hang on a wall; vents and heat sinks are made for it",
        );
        let entry = assumed.word(
            "entry",
            wanted.entry,
            Side::Bottom,
            Side::word,
            "cables come up from the floor; common practice, no source",
        );
        let access = wanted.access.map(|side| {
            let reach = assumed.length(
                "reach",
                wanted.reach,
                0.6,
                "an arm to the elbow and the hand; common practice, no source",
            );
            (side, millimetres(reach))
        });
        let screw = Reference::standard().board_screw_load();
        let fixing_load = wanted.fixing_load.unwrap_or_else(|| {
            let (still, rides) = (screw.value * 2.0, screw.value);
            let load = if craft == Craft::Hut { still } else { rides };
            assumed.add("fixing_load", load.show(), &screw.cite.to_string());
            load
        });
        let extent = outline.extent();
        let notches = wanted.notches.iter().map(area).collect();
        let keep_out = wanted.keep_out.iter().map(area).collect();
        let mut plan = Self {
            outline,
            notches,
            keep_out,
            thickness,
            material,
            orientation,
            access,
            entry,
            margin_mm,
            fixings_mm: wanted.fixings.iter().map(|p| (millimetres(p.x), millimetres(p.y))).collect(),
            fixing_load,
            mass: Kilograms::zero(),
            is_sized,
        };
        plan.mass = plan.own_mass();
        if wanted.fixings.is_empty() {
            let load = bodies.iter().map(|body| body.mass_kg).sum::<f64>() + plan.mass.get();
            plan.fixings_mm = fixings(extent, load / fixing_load.get().max(0.1));
            let count = plan.fixings_mm.len();
            assumed.add(
                "fixings",
                format!("{count} screws along the edge"),
                "enough for the mass of the board and all on it, evenly along the edge",
            );
        }
        (plan, assumed.0)
    }

    /// Whether its top is up.
    pub fn is_upright(&self) -> bool {
        self.orientation == Orientation::Upright
    }

    /// The same board with another outline.
    pub fn resized(&self, outline: Outline) -> Self {
        let mut plan = Self { outline, ..self.clone() };
        plan.mass = plan.own_mass();
        plan
    }

    fn own_mass(&self) -> Kilograms {
        let cut: i64 = self.notches.iter().map(|n| i64::from(n.width_mm) * i64::from(n.height_mm)).sum();
        let area_m2 = (self.outline.area_mm2() - cut).max(0) as f64 / 1e6;
        Kilograms::new(area_m2 * self.thickness.get() * density_kg_m3(self.material))
    }
}

struct Assumed(Vec<Assumption>);

impl Assumed {
    fn add(&mut self, field: &str, value: String, why: &str) {
        self.0.push(Assumption {
            path: format!("board.{field}"),
            value,
            plausible: None,
            why: why.to_owned(),
            must_answer: false,
        });
    }
    fn length(&mut self, field: &str, said: Option<Metres>, metres: f64, why: &str) -> Metres {
        said.unwrap_or_else(|| {
            let length = Metres::new(metres);
            self.add(field, length.show(), why);
            length
        })
    }
    fn word<T: Copy>(
        &mut self,
        field: &str,
        said: Option<T>,
        usual: T,
        word: fn(T) -> &'static str,
        why: &str,
    ) -> T {
        said.unwrap_or_else(|| {
            self.add(field, word(usual).to_owned(), why);
            usual
        })
    }
}

fn area(area: &BoardArea) -> Rect {
    Rect::new(millimetres(area.x), millimetres(area.y), millimetres(area.width), millimetres(area.height))
}

/// A first size: the area of all footprints with half of the free space around them, a quarter over, three to two.
fn first_size(bodies: &[Body], pinned: &[Rect], margin: i32) -> Outline {
    let area: f64 = bodies
        .iter()
        .map(|body| {
            let [top, right, bottom, left] = body.clear_mm;
            f64::from(body.size_mm[0] + (right + left) / 2) * f64::from(body.size_mm[1] + (top + bottom) / 2)
        })
        .sum();
    let width = (area * 1.25 * 1.5).sqrt();
    let height = width / 1.5;
    let tallest =
        bodies.iter().map(|body| body.size_mm[1] + body.clear_mm[0] + body.clear_mm[2]).max().unwrap_or(100);
    let widest =
        bodies.iter().map(|body| body.size_mm[0] + body.clear_mm[1] + body.clear_mm[3]).max().unwrap_or(100);
    let right = pinned.iter().map(|rect| rect.right()).max().unwrap_or(0);
    let top = pinned.iter().map(|rect| rect.top()).max().unwrap_or(0);
    let up = |value: f64| ((value / 50.0).ceil() as i32).clamp(3, 400) * 50;
    Outline::rectangle(
        up(width.max(f64::from((widest + 2 * margin).max(right + margin)))),
        up(height.max(f64::from((tallest + 2 * margin).max(top + margin)))),
    )
}

/// Screws evenly along the edge, at least four, at most forty.
pub fn fixings(extent: (i32, i32), needed: f64) -> Vec<(i32, i32)> {
    let (width, height) = extent;
    let count = (needed.ceil().clamp(4.0, 40.0)) as i32;
    let (left, low, right, top) =
        (FIXING_INSET_MM, FIXING_INSET_MM, width - FIXING_INSET_MM, height - FIXING_INSET_MM);
    let mut at = vec![(left, low), (right, low), (right, top), (left, top)];
    // Beyond the corners: pairs on the two long edges.
    let pairs = (count - 4 + 1) / 2;
    for pair in 1..=pairs {
        if width >= height {
            let x = left + (right - left) * pair / (pairs + 1);
            at.extend([(x, low), (x, top)]);
        } else {
            let y = low + (top - low) * pair / (pairs + 1);
            at.extend([(left, y), (right, y)]);
        }
    }
    at
}
