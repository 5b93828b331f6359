//! Sense inside a mounting board: an outline that does not cross itself, notches that cut it, places that are quarter turns.
//! Never: judges whether devices fit on it (see `board`).
//! Start at [`faults`].

use quantity::Metres;

use crate::board_intent::{BoardArea, BoardIntent, BoardPoint};

/// Corners that an outline may have; whoever has more traced a picture.
const MOST_CORNERS: usize = 200;
/// Rectangles, fixings and places that one board may have.
const MOST_ITEMS: usize = 500;

/// Everything that makes no sense: path, what is wrong, how to mend it.
pub fn faults(board: &BoardIntent) -> Vec<(String, String, String)> {
    let mut faults: Vec<(String, String, String)> = Vec::new();
    let mut say = |path: &str, message: String, mend: &str| {
        faults.push((format!("board.{path}"), message, mend.to_owned()));
    };
    let corners: Vec<(i64, i64)> = board.outline.iter().map(millimetres).collect();
    if !corners.is_empty() {
        if board.width.is_some() || board.height.is_some() {
            say(
                "outline",
                "the board has an outline and a width or height too".to_owned(),
                "Keep the outline, or width and height",
            );
        }
        outline_faults(&corners, &mut say);
    } else if board.width.is_some() != board.height.is_some() {
        let (has, lacks) = if board.width.is_some() { ("width", "height") } else { ("height", "width") };
        say(has, format!("the board has a {has} and no {lacks}"), "Say both, or neither: then it is sized");
    }
    let extent = match (corners.is_empty(), board.width, board.height) {
        (false, ..) => Some((
            corners.iter().map(|c| c.0).max().unwrap_or(0),
            corners.iter().map(|c| c.1).max().unwrap_or(0),
        )),
        (true, Some(width), Some(height)) => Some((whole(width), whole(height))),
        _ => None,
    };
    for (kind, areas) in [("notches", &board.notches), ("keep_out", &board.keep_out)] {
        for (index, area) in areas.iter().enumerate().take(MOST_ITEMS) {
            let (left, low, ..) = edges(area);
            match extent {
                Some((width, height)) if left >= width || low >= height => say(
                    &format!("{kind}[{index}]"),
                    format!("this rectangle lies outside the board of {width} mm by {height} mm"),
                    "Count x from the left edge and y from the lower edge of the board",
                ),
                None if kind == "notches" => say(
                    &format!("{kind}[{index}]"),
                    "a notch is cut out of a board whose size is not said".to_owned(),
                    "Say width and height of the board, or its outline",
                ),
                _ => {}
            }
        }
    }
    let counts = [
        ("notches", board.notches.len()),
        ("keep_out", board.keep_out.len()),
        ("fixings", board.fixings.len()),
        ("places", board.places.0.len()),
    ];
    for (kind, count) in counts {
        if count > MOST_ITEMS {
            say(
                kind,
                format!("{count} entries; the most is {MOST_ITEMS}"),
                "Check that this is the right file",
            );
        }
    }
    for (name, place) in &board.places.0 {
        if let Some(turn) = place.turn
            && ![0.0, 90.0, 180.0, 270.0].contains(&turn.get())
        {
            say(
                &format!("places.{name}.turn"),
                format!("`{name}` is turned by {turn}"),
                "Write \"0°\", \"90°\", \"180°\" or \"270°\": devices stand square on the board",
            );
        }
    }
    faults
}

fn outline_faults(corners: &[(i64, i64)], say: &mut impl FnMut(&str, String, &str)) {
    let count = corners.len();
    if !(3..=MOST_CORNERS).contains(&count) {
        say(
            "outline",
            format!("the outline has {count} corners"),
            "List from 3 to 200 corners in order around the board",
        );
        return;
    }
    for first in 0..count {
        for second in first + 1..count {
            let is_next = second == first + 1 || (first == 0 && second == count - 1);
            let a = (corners[first], corners[(first + 1) % count]);
            let b = (corners[second], corners[(second + 1) % count]);
            if !is_next && cross(a, b) {
                say(
                    &format!("outline[{second}]"),
                    format!(
                        "the outline crosses itself: the edge from corner {} meets the edge from corner {}",
                        second + 1,
                        first + 1
                    ),
                    "List the corners in the order in which a saw goes around the board",
                );
                return;
            }
        }
    }
    let twice: i64 = (0..count)
        .map(|at| {
            let (a, b) = (corners[at], corners[(at + 1) % count]);
            a.0 * b.1 - b.0 * a.1
        })
        .sum();
    if twice.abs() < 2 * 2500 {
        say(
            "outline",
            "the outline encloses next to nothing".to_owned(),
            "Check its corners and their units",
        );
    }
}

type Edge = ((i64, i64), (i64, i64));

/// Whether two edges touch or cross.
fn cross(a: Edge, b: Edge) -> bool {
    let side = |p: (i64, i64), q: (i64, i64), r: (i64, i64)| {
        ((q.0 - p.0) * (r.1 - p.1) - (q.1 - p.1) * (r.0 - p.0)).signum()
    };
    let (d1, d2) = (side(a.0, a.1, b.0), side(a.0, a.1, b.1));
    let (d3, d4) = (side(b.0, b.1, a.0), side(b.0, b.1, a.1));
    if d1 == 0 && d2 == 0 {
        let spans = |p: i64, q: i64, r: i64, s: i64| p.min(q) <= r.max(s) && r.min(s) <= p.max(q);
        return spans(a.0.0, a.1.0, b.0.0, b.1.0) && spans(a.0.1, a.1.1, b.0.1, b.1.1);
    }
    d1 * d2 <= 0 && d3 * d4 <= 0
}

fn whole(length: Metres) -> i64 {
    // The range check bounds every length to 10 m; what is wilder is clamped so that no sum runs over.
    (length.get() * 1000.0).round().clamp(-1e6, 1e6) as i64
}

fn millimetres(point: &BoardPoint) -> (i64, i64) {
    (whole(point.x), whole(point.y))
}

/// Left, lower, right and upper edge.
fn edges(area: &BoardArea) -> (i64, i64, i64, i64) {
    let (x, y) = (whole(area.x), whole(area.y));
    (x, y, x + whole(area.width), y + whole(area.height))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_that_cross_touch_or_pass() {
        assert!(cross(((0, 0), (10, 10)), ((0, 10), (10, 0))));
        assert!(cross(((0, 0), (10, 0)), ((5, 0), (5, 9))));
        assert!(!cross(((0, 0), (10, 0)), ((0, 1), (10, 1))));
        assert!(cross(((0, 0), (10, 0)), ((8, 0), (20, 0))));
        assert!(!cross(((0, 0), (10, 0)), ((11, 0), (20, 0))));
    }
}
