//! The mounting board as the page draws it and moves things on it.
//! Never: holds a rule. All places are millimetres from the lower left corner, seen from the front.
//! Start at [`Board`].

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{Edit, FindingLine};

/// The mounting board with everything on it.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct Board {
    /// Whether the person designs it: then its lengths are those of the system.
    pub is_designed: bool,
    /// Whether the places are still being searched after a change.
    pub is_due: bool,
    /// The board in a sentence: size, stuff, mass, screws.
    pub about: String,
    /// Width [mm].
    pub width_mm: i32,
    /// Height [mm].
    pub height_mm: i32,
    /// Steps on which devices are placed [mm].
    pub step_mm: i32,
    /// Its corners in order, each x and y [mm].
    pub outline_mm: Vec<Vec<i32>>,
    /// Cut-outs and areas on which nothing may stand.
    pub closed: Vec<BoardArea>,
    /// What stands on it.
    pub devices: Vec<BoardDevice>,
    /// What found no place, by name.
    pub left_over: Vec<String>,
    /// Cables on it.
    pub routes: Vec<BoardRoute>,
    /// Holes.
    pub holes: Vec<BoardHole>,
    /// Conductors whose length here is another than was said or assumed, in words.
    pub changes: Vec<String>,
    /// What is wrong on it, the worst first.
    pub findings: Vec<FindingLine>,
    /// The changes to intent.toml that keep everything where it stands here; empty where all is pinned so.
    pub keep: Vec<Edit>,
}

/// A rectangle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct BoardArea {
    /// Left edge [mm].
    pub x_mm: i32,
    /// Lower edge [mm].
    pub y_mm: i32,
    /// Width [mm].
    pub width_mm: i32,
    /// Height [mm].
    pub height_mm: i32,
}

/// A device where it stands.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct BoardDevice {
    /// Its name.
    pub id: String,
    /// What it is called.
    pub title: String,
    /// What it covers, as turned.
    pub area: BoardArea,
    /// Turned by [degrees], counterclockwise.
    pub turn: u32,
    /// Whether the person pinned it here.
    pub is_pinned: bool,
    /// The same with the free space that it wants.
    pub clear: BoardArea,
    /// What is wrong with where it stands, in words.
    pub wrong: Vec<String>,
}

/// A cable on the board.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct BoardRoute {
    /// Its first conductor.
    pub id: String,
    /// Its corners, each x and y [mm].
    pub points_mm: Vec<Vec<i32>>,
    /// Its outer diameter [mm].
    pub diameter_mm: f64,
    /// Its length on the board, in words.
    pub length: String,
}

/// A hole.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
#[serde(rename_all = "camelCase")]
pub struct BoardHole {
    /// Middle [mm].
    pub x_mm: i32,
    /// Middle [mm].
    pub y_mm: i32,
    /// Diameter [mm].
    pub diameter_mm: f64,
}

/// A device that is moved on trial.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "camelCase", deny_unknown_fields)]
pub struct BoardMove {
    /// Its name.
    pub id: String,
    /// Left edge as turned [mm].
    pub x_mm: i32,
    /// Lower edge as turned [mm].
    pub y_mm: i32,
    /// Turned by [degrees]: 0, 90, 180 or 270.
    pub turn: u32,
}
