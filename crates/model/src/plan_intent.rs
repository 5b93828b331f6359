//! What a person writes about the plan of the vehicle, boat or hut: its extent, who stands where, where cables run, which
//! walls they cross, and the axles.
//! Never: holds a default, finds a way (see `derive::ways`), judges (see `board`).
//! Start at [`PlanIntent`].
//!
//! Axes as in ISO 8855: x forwards from the rear end, y to the left from the right-hand side, z upwards from the floor.

use std::collections::BTreeMap;

use quantity::{Kilograms, Metres};

use crate::Name;
use crate::{choice, record};

choice! {
    /// What a wall is made of.
    "a wall material" pub enum WallMaterial {
        /// Sheet steel.
        Steel = "steel",
        /// Sheet aluminium.
        Aluminium = "aluminium",
        /// Wood or plywood.
        Wood = "wood",
        /// Plastic, glass-fibre or foam sandwich.
        Plastic = "plastic",
    }
}

impl WallMaterial {
    /// Whether the edge of a hole in it cuts into a cable.
    pub fn is_metal(self) -> bool {
        matches!(self, Self::Steel | Self::Aluminium)
    }
}

record! {
    /// A point of the plan.
    "a point of the plan" pub struct SpacePoint {
        /// Forwards from the rear end.
        pub x: Metres,
        /// To the left from the right-hand side.
        pub y: Metres,
        /// Upwards from the floor.
        pub z: Metres,
    }
}

record! {
    /// Where something stands.
    "a place on the plan" pub struct PlanPoint {
        /// Forwards from the rear end.
        pub x: Metres,
        /// To the left from the right-hand side.
        pub y: Metres,
        /// Upwards from the floor.
        pub z: Metres,
        /// What stands there, as a path of this file such as `loads.fridge`; without it, what has the point's name.
        pub is: Option<String>,
        /// Mass of what stands there and is not in the system, such as a water tank.
        pub mass: Option<Kilograms>,
    }
}

record! {
    /// A way along which cables may run.
    "a cable channel" pub struct ChannelIntent {
        /// Its corners in order.
        pub points: Vec<SpacePoint>,
        /// Clear width inside, where it is a duct or conduit.
        pub width: Option<Metres>,
        /// Clear height inside.
        pub height: Option<Metres>,
        /// Distance between supports; without one it carries its cables all along.
        pub support: Option<Metres>,
        /// The zone that it passes through.
        pub zone: Option<Name>,
    }
}

record! {
    /// A wall that cables cross: a rectangle square to an axis, from one corner to the opposite one.
    "a wall" pub struct WallIntent {
        /// One corner.
        pub from: SpacePoint,
        /// The opposite corner; one of x, y and z is that of the first.
        pub to: SpacePoint,
        /// Thickness.
        pub thickness: Metres,
        /// What it is made of.
        pub material: WallMaterial,
        /// Whether weather stands on its other side, so that holes must be sealed.
        pub outside: Option<bool>,
    }
}

record! {
    /// An axle, or the coupling of a trailer.
    "an axle" pub struct AxleIntent {
        /// Forwards from the rear end.
        pub x: Metres,
        /// Load on it when the vehicle is empty.
        pub empty: Option<Kilograms>,
        /// Load that it may carry.
        pub most: Option<Kilograms>,
    }
}

record! {
    /// The space that a zone takes, as a box from one corner to the opposite one.
    "the space of a zone" pub struct ZoneSpace {
        /// One corner.
        pub from: SpacePoint,
        /// The opposite corner.
        pub to: SpacePoint,
    }
}

record! {
    /// The plan.
    "a plan" pub struct PlanIntent {
        /// Length, from the rear end to the front.
        pub length: Metres,
        /// Width.
        pub width: Metres,
        /// Height.
        pub height: Metres,
        /// Where loads, sources, the bank and the board stand, by name.
        #[schemars(default)]
        pub points: BTreeMap<Name, PlanPoint>,
        /// Ways along which cables may run, by name; two join where a corner of one lies on the other.
        #[schemars(default)]
        pub channels: BTreeMap<Name, ChannelIntent>,
        /// Walls that cables cross, by name.
        #[schemars(default)]
        pub walls: BTreeMap<Name, WallIntent>,
        /// Space of zones by their names.
        #[schemars(default)]
        pub zones: BTreeMap<Name, ZoneSpace>,
        /// Axles by name.
        #[schemars(default)]
        pub axles: BTreeMap<Name, AxleIntent>,
    }
}

impl SpacePoint {
    /// Whole millimetres: x, y, z. What is wilder than a kilometre is clamped, so that no sum runs over.
    pub fn millimetres(&self) -> [i32; 3] {
        [self.x, self.y, self.z].map(whole)
    }
}

impl PlanPoint {
    /// Whole millimetres: x, y, z.
    pub fn millimetres(&self) -> [i32; 3] {
        [self.x, self.y, self.z].map(whole)
    }
}

fn whole(length: Metres) -> i32 {
    (length.get() * 1000.0).round().clamp(-1e6, 1e6) as i32
}
