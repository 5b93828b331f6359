//! What a person writes about the mounting board: its outline, how it hangs, what may not stand where, pinned places;
//! and what a part may tell about its footprint.
//! Never: holds a default. What is silent here becomes an assumption in `board`, with its reason.
//! Start at [`BoardIntent`]; [`Footprint`] is what a part may tell.

use std::borrow::Cow;
use std::collections::BTreeMap;

use quantity::{Degrees, Kilograms, Metres};
use toml::Spanned;
use toml::de::DeValue;

use crate::Name;
use crate::read::{Context, ReadValue};
use crate::{choice, record};

choice! {
    /// How a board hangs.
    "an orientation" pub enum Orientation {
        /// Upright, on a wall; `top` is up.
        Upright = "upright",
        /// Flat, on a floor or under a bench.
        Flat = "flat",
    }
}

choice! {
    /// What a board is made of.
    "a board material" pub enum BoardMaterial {
        /// Plywood.
        Plywood = "plywood",
        /// Solid laminate.
        Laminate = "laminate",
        /// Sheet of glass-fibre or another plastic.
        Plastic = "plastic",
        /// Sheet aluminium.
        Aluminium = "aluminium",
    }
}

choice! {
    /// A side of a board or of a device on it, seen from the front.
    "a side" pub enum Side {
        /// The upper side.
        Top = "top",
        /// The right side.
        Right = "right",
        /// The lower side.
        Bottom = "bottom",
        /// The left side.
        Left = "left",
    }
}

record! {
    /// A point of a board or device, from its lower left corner.
    "a point" pub struct BoardPoint {
        /// To the right.
        pub x: Metres,
        /// Upwards.
        pub y: Metres,
    }
}

record! {
    /// A rectangle on a board, from its lower left corner.
    "a rectangle" pub struct BoardArea {
        /// Left edge.
        pub x: Metres,
        /// Lower edge.
        pub y: Metres,
        /// Width.
        pub width: Metres,
        /// Height.
        pub height: Metres,
    }
}

record! {
    /// Where a device is to stand.
    "a place on the board" pub struct BoardPlace {
        /// Left edge of its footprint, as turned.
        pub x: Metres,
        /// Lower edge.
        pub y: Metres,
        /// Quarter turns anticlockwise: 0°, 90°, 180° or 270°.
        pub turn: Option<Degrees>,
    }
}

record! {
    /// The mounting board.
    "a mounting board" pub struct BoardIntent {
        /// The zone in which it hangs.
        pub zone: Option<Name>,
        /// Width.
        pub width: Option<Metres>,
        /// Height.
        pub height: Option<Metres>,
        /// Its corners in order, instead of width and height.
        pub outline: Vec<BoardPoint>,
        /// Rectangles cut out of it, such as for a wheel arch.
        pub notches: Vec<BoardArea>,
        /// Rectangles on which nothing may be screwed and no cable laid.
        pub keep_out: Vec<BoardArea>,
        /// Thickness.
        pub thickness: Option<Metres>,
        /// What it is made of.
        pub material: Option<BoardMaterial>,
        /// How it hangs.
        pub orientation: Option<Orientation>,
        /// The side from which a hand comes to it; without one, the front is free.
        pub access: Option<Side>,
        /// How far a hand reaches from that side.
        pub reach: Option<Metres>,
        /// The side at which cables leave it.
        pub entry: Option<Side>,
        /// Strip along the edge in which nothing stands.
        pub edge_margin: Option<Metres>,
        /// Screws that hold the board.
        pub fixings: Vec<BoardPoint>,
        /// Mass that one of them holds, on the road too.
        pub fixing_load: Option<Kilograms>,
        /// Devices that stand on it beside those within reach.
        pub with: Vec<String>,
        /// Devices that do not stand on it.
        pub without: Vec<String>,
        /// Pinned places by the name of the device.
        #[schemars(default)]
        pub places: BoardPlaces,
    }
}

impl Default for BoardIntent {
    /// A board of which nothing is said.
    fn default() -> Self {
        Self {
            zone: None,
            width: None,
            height: None,
            outline: Vec::new(),
            notches: Vec::new(),
            keep_out: Vec::new(),
            thickness: None,
            material: None,
            orientation: None,
            access: None,
            reach: None,
            entry: None,
            edge_margin: None,
            fixings: Vec::new(),
            fixing_load: None,
            with: Vec::new(),
            without: Vec::new(),
            places: BoardPlaces::default(),
        }
    }
}

/// Pinned places by the name of the device, such as `main.disconnect`.
#[derive(Clone, Debug, PartialEq, Default, serde::Serialize, schemars::JsonSchema)]
#[schemars(transparent)]
pub struct BoardPlaces(pub BTreeMap<String, BoardPlace>);

impl ReadValue for BoardPlaces {
    fn read(value: &Spanned<DeValue<'_>>, context: &mut Context<'_>) -> Option<Self> {
        let DeValue::Table(table) = value.get_ref() else {
            context.problem(
                value.span(),
                "a table of places is wanted here",
                "Write it like this: `[board.places.inverter]` with `x` and `y`",
            );
            return None;
        };
        let mut places = BTreeMap::new();
        let mut is_complete = true;
        for (key, item) in table.iter() {
            let span = key.span().start.min(item.span().start)..key.span().end.max(item.span().end);
            match context.at(key.get_ref(), span, |context| BoardPlace::read(item, context)) {
                Some(place) => {
                    places.insert(key.get_ref().to_string(), place);
                }
                None => is_complete = false,
            }
        }
        is_complete.then_some(Self(places))
    }
    fn absent() -> Option<Self> {
        Some(Self::default())
    }
    fn example() -> Cow<'static, str> {
        "{ \"main.disconnect\" = { x = \"100 mm\", y = \"300 mm\" } }".into()
    }
}

record! {
    /// A terminal on the footprint of a part.
    "a terminal's place" pub struct TerminalPlace {
        /// The terminal's name, such as `positive`.
        pub name: String,
        /// The side on which the cable leaves.
        pub side: Side,
        /// How far along that side, from its left or lower end.
        pub along: Metres,
    }
}

record! {
    /// What a part may tell about how it is mounted; what is silent is taken from its kind.
    "a footprint" pub struct Footprint {
        /// Free space above it.
        pub clear_top: Option<Metres>,
        /// Free space on its right.
        pub clear_right: Option<Metres>,
        /// Free space below it.
        pub clear_bottom: Option<Metres>,
        /// Free space on its left.
        pub clear_left: Option<Metres>,
        /// Whether its vents must point up and down, so that it may not be turned on an upright board.
        pub upright: Option<bool>,
        /// Whether a hand must reach it in use: a switch, a fuse, a breaker.
        pub service: Option<bool>,
        /// Its fixing holes.
        pub holes: Vec<BoardPoint>,
        /// Diameter of the holes.
        pub hole: Option<Metres>,
        /// Where its terminals stand.
        pub terminals: Vec<TerminalPlace>,
    }
}
