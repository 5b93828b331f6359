//! Rectangles, turns and outlines in whole millimetres, so that every comparison is exact.
//! Never: knows what a rectangle stands for.
//! Start at [`Rect`], [`Turn`] and [`Outline`].

use model::Side;
use serde::Serialize;

/// A rectangle; `x` and `y` are its lower left corner.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Rect {
    /// Left edge.
    pub x_mm: i32,
    /// Lower edge.
    pub y_mm: i32,
    /// Width, not negative.
    pub width_mm: i32,
    /// Height, not negative.
    pub height_mm: i32,
}

impl Rect {
    /// From its edges.
    pub fn new(x_mm: i32, y_mm: i32, width_mm: i32, height_mm: i32) -> Self {
        Self { x_mm, y_mm, width_mm, height_mm }
    }
    /// Right edge.
    pub fn right(self) -> i32 {
        self.x_mm + self.width_mm
    }
    /// Upper edge.
    pub fn top(self) -> i32 {
        self.y_mm + self.height_mm
    }
    /// Grown on each side: top, right, bottom, left.
    pub fn grown(self, by: [i32; 4]) -> Self {
        let [top, right, bottom, left] = by;
        Self::new(
            self.x_mm - left,
            self.y_mm - bottom,
            self.width_mm + left + right,
            self.height_mm + top + bottom,
        )
    }
    /// Width and height of what both cover; not positive where they are apart.
    pub fn shared(self, other: Self) -> (i32, i32) {
        (
            self.right().min(other.right()) - self.x_mm.max(other.x_mm),
            self.top().min(other.top()) - self.y_mm.max(other.y_mm),
        )
    }
    /// How deep one stands in the other: the way out; zero where they are apart or touch.
    pub fn depth(self, other: Self) -> i32 {
        let (width, height) = self.shared(other);
        width.min(height).max(0)
    }
    /// Gap between both along x and along y; zero where they overlap in that direction.
    pub fn gap(self, other: Self) -> (i32, i32) {
        let (width, height) = self.shared(other);
        ((-width).max(0), (-height).max(0))
    }
    /// Whether an axis-parallel stretch runs through its inside.
    pub fn is_crossed(self, a: (i32, i32), b: (i32, i32)) -> bool {
        let (left, right) = (a.0.min(b.0), a.0.max(b.0));
        let (low, high) = (a.1.min(b.1), a.1.max(b.1));
        right > self.x_mm && left < self.right() && high > self.y_mm && low < self.top()
    }
}

/// Quarter turns anticlockwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Turn(u8);

impl Turn {
    /// As the part stands.
    pub const NONE: Self = Self(0);
    /// By a number of quarter turns.
    pub fn quarters(count: u8) -> Self {
        Self(count % 4)
    }
    /// Quarter turns, 0 to 3.
    pub fn count(self) -> u8 {
        self.0
    }
    /// Degrees anticlockwise: 0, 90, 180 or 270.
    pub fn degrees(self) -> i32 {
        i32::from(self.0) * 90
    }
    /// Width and height after the turn.
    pub fn size(self, width_mm: i32, height_mm: i32) -> (i32, i32) {
        if self.0.is_multiple_of(2) { (width_mm, height_mm) } else { (height_mm, width_mm) }
    }
    /// A point of a footprint of this size, after the turn.
    pub fn point(self, (width_mm, height_mm): (i32, i32), (x, y): (i32, i32)) -> (i32, i32) {
        match self.0 {
            0 => (x, y),
            1 => (height_mm - y, x),
            2 => (width_mm - x, height_mm - y),
            _ => (y, width_mm - x),
        }
    }
    /// A side after the turn.
    pub fn side(self, side: Side) -> Side {
        const AROUND: [Side; 4] = [Side::Top, Side::Right, Side::Bottom, Side::Left];
        let at = side_index(side);
        AROUND[(at + 3 * usize::from(self.0)) % 4]
    }
    /// Values at top, right, bottom, left after the turn.
    pub fn sides(self, values: [i32; 4]) -> [i32; 4] {
        let mut turned = [0; 4];
        for (at, value) in values.into_iter().enumerate() {
            turned[(at + 3 * usize::from(self.0)) % 4] = value;
        }
        turned
    }
}

/// Place of a side in the order top, right, bottom, left.
pub fn side_index(side: Side) -> usize {
    match side {
        Side::Top => 0,
        Side::Right => 1,
        Side::Bottom => 2,
        Side::Left => 3,
    }
}

/// The step outwards from a side.
pub fn outwards(side: Side) -> (i32, i32) {
    match side {
        Side::Top => (0, 1),
        Side::Right => (1, 0),
        Side::Bottom => (0, -1),
        Side::Left => (-1, 0),
    }
}

/// The edge of a board: corners in order, whichever way around.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Outline {
    /// Its corners, x and y.
    pub corners_mm: Vec<(i32, i32)>,
}

impl Outline {
    /// A rectangle from the origin.
    pub fn rectangle(width_mm: i32, height_mm: i32) -> Self {
        Self { corners_mm: vec![(0, 0), (width_mm, 0), (width_mm, height_mm), (0, height_mm)] }
    }
    /// Width and height from the origin.
    pub fn extent(&self) -> (i32, i32) {
        let most = |of: fn(&(i32, i32)) -> i32| self.corners_mm.iter().map(of).max().unwrap_or(0);
        (most(|corner| corner.0), most(|corner| corner.1))
    }
    /// Its edges.
    pub fn edges(&self) -> impl Iterator<Item = ((i32, i32), (i32, i32))> + '_ {
        let count = self.corners_mm.len();
        (0..count).map(move |at| (self.corners_mm[at], self.corners_mm[(at + 1) % count]))
    }
    /// Area in square millimetres.
    pub fn area_mm2(&self) -> i64 {
        let twice: i64 = self
            .edges()
            .map(|(a, b)| i64::from(a.0) * i64::from(b.1) - i64::from(b.0) * i64::from(a.1))
            .sum();
        twice.abs() / 2
    }
    /// Whether the point, in half millimetres, lies inside; one on the edge may count either way.
    fn holds_half(&self, x: i64, y: i64) -> bool {
        let mut inside = false;
        for (a, b) in self.edges() {
            let (ax, ay) = (2 * i64::from(a.0), 2 * i64::from(a.1));
            let (bx, by) = (2 * i64::from(b.0), 2 * i64::from(b.1));
            if (ay > y) != (by > y) {
                // x of the edge at height y, compared without dividing.
                let left = (x - ax) * (by - ay);
                let right = (bx - ax) * (y - ay);
                if if by > ay { left < right } else { left > right } {
                    inside = !inside;
                }
            }
        }
        inside
    }
    /// Whether the whole rectangle lies on the board; touching the edge is allowed.
    pub fn holds(&self, rect: Rect) -> bool {
        if rect.width_mm <= 0 || rect.height_mm <= 0 {
            return false;
        }
        let middle = (
            2 * i64::from(rect.x_mm) + i64::from(rect.width_mm),
            2 * i64::from(rect.y_mm) + i64::from(rect.height_mm),
        );
        self.holds_half(middle.0, middle.1) && !self.edges().any(|(a, b)| cuts(rect, a, b))
    }
    /// Distance from a point to the nearest edge [mm].
    pub fn distance_mm(&self, x_mm: f64, y_mm: f64) -> f64 {
        self.edges()
            .map(|(a, b)| {
                let (ax, ay, bx, by) = (f64::from(a.0), f64::from(a.1), f64::from(b.0), f64::from(b.1));
                let (dx, dy) = (bx - ax, by - ay);
                let square = dx * dx + dy * dy;
                let share = if square > 0.0 { ((x_mm - ax) * dx + (y_mm - ay) * dy) / square } else { 0.0 };
                let share = share.clamp(0.0, 1.0);
                let (px, py) = (ax + share * dx - x_mm, ay + share * dy - y_mm);
                (px * px + py * py).sqrt()
            })
            .fold(f64::INFINITY, f64::min)
    }
    /// Every length times `factor`, rounded up to 10 mm.
    pub fn scaled(&self, factor: f64) -> Self {
        let scale = |value: i32| (f64::from(value) * factor / 10.0).ceil() as i32 * 10;
        Self { corners_mm: self.corners_mm.iter().map(|corner| (scale(corner.0), scale(corner.1))).collect() }
    }
}

/// Whether an edge runs through the inside of a rectangle (Liang and Barsky's clipping, in whole numbers).
fn cuts(rect: Rect, a: (i32, i32), b: (i32, i32)) -> bool {
    let (dx, dy) = (i64::from(b.0) - i64::from(a.0), i64::from(b.1) - i64::from(a.1));
    // The stretch of the edge inside, as fractions enter / leave over a common form n / d with d > 0.
    let (mut enter, mut leave) = ((0i64, 1i64), (1i64, 1i64));
    let bounds = [
        (-dx, i64::from(a.0) - i64::from(rect.x_mm)),
        (dx, i64::from(rect.right()) - i64::from(a.0)),
        (-dy, i64::from(a.1) - i64::from(rect.y_mm)),
        (dy, i64::from(rect.top()) - i64::from(a.1)),
    ];
    for (p, q) in bounds {
        if p == 0 {
            if q <= 0 {
                return false;
            }
        } else if p < 0 {
            let at = (-q, -p);
            if at.0 * enter.1 > enter.0 * at.1 {
                enter = at;
            }
        } else if q * leave.1 < leave.0 * p {
            leave = (q, p);
        }
    }
    enter.0 * leave.1 < leave.0 * enter.1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_quarter_turns_are_none() {
        let size = (30, 10);
        let mut at = (7, 2);
        let mut now = size;
        for _ in 0..4 {
            at = Turn::quarters(1).point(now, at);
            now = Turn::quarters(1).size(now.0, now.1);
        }
        assert_eq!((at, now), ((7, 2), size));
        assert_eq!(Turn::quarters(1).side(Side::Top), Side::Left);
        assert_eq!(Turn::quarters(1).sides([1, 2, 3, 4]), [2, 3, 4, 1]);
        // Anticlockwise, what pointed right points up.
        assert_eq!(Turn::quarters(1).point(size, (30, 5)), (5, 30));
    }

    #[test]
    fn a_board_with_a_bay_holds_what_lies_beside_the_bay() {
        let outline = Outline {
            corners_mm: vec![(0, 0), (40, 0), (40, 30), (60, 30), (60, 0), (100, 0), (100, 80), (0, 80)],
        };
        assert!(outline.holds(Rect::new(0, 0, 40, 80)));
        assert!(!outline.holds(Rect::new(0, 0, 41, 30)));
        assert!(outline.holds(Rect::new(0, 30, 100, 50)));
        assert!(!outline.holds(Rect::new(45, 5, 10, 10)));
        assert!(!outline.holds(Rect::new(30, 0, 40, 80)));
        assert!(!outline.holds(Rect::new(90, 70, 11, 5)));
        assert_eq!(outline.area_mm2(), 100 * 80 - 20 * 30);
    }

    #[test]
    fn a_sloping_edge_cuts_only_what_it_passes() {
        let outline = Outline { corners_mm: vec![(0, 0), (100, 0), (100, 100)] };
        assert!(outline.holds(Rect::new(60, 10, 40, 50)));
        assert!(!outline.holds(Rect::new(49, 10, 40, 50)));
        assert!((outline.distance_mm(100.0, 0.0)).abs() < 1e-9);
        assert!((outline.distance_mm(75.0, 25.0) - 25.0).abs() < 1e-9);
    }
}
