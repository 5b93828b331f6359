//! The shortest square path of one cable that keeps the radius of its bends.
//! Never: knows conductors or devices.
//! Start at [`find`]: A* (Hart, Nilsson and Raphael 1968, 10.1109/TSSC.1968.300136) over the lines along obstacles, one step
//! being a whole straight stretch, so that its least length can be asked.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use crate::footprint::Current;
use crate::geometry::{Outline, Rect};

/// A straight stretch of a cable that lies already.
#[derive(Clone, Copy, Debug)]
pub struct Lane {
    pub from: (i32, i32),
    pub to: (i32, i32),
    pub current: Current,
}

/// What is asked of a path.
#[derive(Clone)]
pub struct Ask<'a> {
    pub outline: &'a Outline,
    /// Devices, and whether the cable ends at this one.
    pub bodies: &'a [(Rect, bool)],
    pub barred: Vec<Rect>,
    pub start: (i32, i32),
    /// The way in which it leaves its terminal.
    pub start_way: (i32, i32),
    pub goal: (i32, i32),
    /// The way in which it arrives; any where it goes through a hole.
    pub goal_way: Option<(i32, i32)>,
    /// Half of the cable's diameter, rounded up.
    pub half: i32,
    /// Bend radius of its middle; 0 asks for none.
    pub radius: i32,
    pub lanes: &'a [Lane],
    pub current: Current,
    /// Distance from cables of the other kind of current that is sought.
    pub apart: i32,
}

/// The four ways.
const WAYS: [(i32, i32); 4] = [(1, 0), (0, 1), (-1, 0), (0, -1)];
/// What a bend costs, as length [mm]: a straight cable is easier to lay.
const BEND_MM: i64 = 30;
/// How much more a millimetre costs beside cables of the other kind of current.
const BESIDE: i64 = 3;

/// The path, corner by corner; `None` where there is none. `room` is kept to devices beside the cable's own half.
pub fn find(ask: &Ask<'_>, room: i32) -> Option<Vec<(i32, i32)>> {
    let grid = Lines::of(ask, room);
    let start = grid.index(ask.start)?;
    let goal = grid.index(ask.goal)?;
    let first_way = WAYS.iter().position(|way| *way == ask.start_way)?;
    let (cols, rows) = (grid.xs.len(), grid.ys.len());
    let state = |col: usize, row: usize, way: usize| (row * cols + col) * 4 + way;
    let mut least = vec![i64::MAX; cols * rows * 4];
    let mut before = vec![usize::MAX; cols * rows * 4];
    let ahead = |col: usize, row: usize| {
        i64::from((grid.xs[col] - ask.goal.0).abs() + (grid.ys[row] - ask.goal.1).abs())
    };
    // A state is where a stretch ended and the way in which it ran.
    let mut open = BinaryHeap::new();
    let stretch =
        |from: (usize, usize), way: usize, is_first: bool, take: &mut dyn FnMut(usize, usize, i64)| {
            let (dx, dy) = WAYS[way];
            let (mut col, mut row) = from;
            let (mut length, mut cost) = (0, 0i64);
            loop {
                let (next_col, next_row) = (col as i32 + dx, row as i32 + dy);
                if next_col < 0 || next_row < 0 || next_col >= cols as i32 || next_row >= rows as i32 {
                    return;
                }
                let (next_col, next_row) = (next_col as usize, next_row as usize);
                let Some(factor) = grid.unit(col, row, next_col, next_row) else { return };
                let step =
                    (grid.xs[next_col] - grid.xs[col]).abs() + (grid.ys[next_row] - grid.ys[row]).abs();
                length += step;
                cost += i64::from(step) * factor;
                (col, row) = (next_col, next_row);
                let is_goal = (col, row) == goal && ask.goal_way.is_none_or(|wanted| wanted == WAYS[way]);
                let bends = if is_first { 1 } else { 2 } - i32::from(is_goal);
                if length >= bends * ask.radius {
                    take(col, row, cost);
                }
            }
        };
    let mut push = |open: &mut BinaryHeap<_>,
                    least: &mut Vec<i64>,
                    from: usize,
                    to: (usize, usize, usize),
                    cost: i64| {
        let at = state(to.0, to.1, to.2);
        if cost < least[at] {
            least[at] = cost;
            before[at] = from;
            open.push(Reverse((cost + ahead(to.0, to.1), at)));
        }
    };
    let mut ends = Vec::new();
    stretch(start, first_way, true, &mut |col, row, cost| ends.push((col, row, cost)));
    for (col, row, cost) in ends {
        push(&mut open, &mut least, usize::MAX, (col, row, first_way), cost);
    }
    let mut found = None;
    while let Some(Reverse((priority, at))) = open.pop() {
        let (place, way) = (at / 4, at % 4);
        let (col, row) = (place % cols, place / cols);
        if priority > least[at] + ahead(col, row) {
            continue;
        }
        if (col, row) == goal && ask.goal_way.is_none_or(|wanted| wanted == WAYS[way]) {
            found = Some(at);
            break;
        }
        for next in [(way + 1) % 4, (way + 3) % 4] {
            let so_far = least[at] + BEND_MM;
            let mut ends = Vec::new();
            stretch((col, row), next, false, &mut |col, row, cost| ends.push((col, row, cost)));
            for (col, row, cost) in ends {
                push(&mut open, &mut least, at, (col, row, next), so_far + cost);
            }
        }
    }
    let mut at = found?;
    let mut points = Vec::new();
    while at != usize::MAX {
        let place = at / 4;
        points.push((grid.xs[place % cols], grid.ys[place / cols]));
        at = before[at];
    }
    points.push(ask.start);
    points.reverse();
    Some(points)
}

/// The lines on which a path may run, and which stretches between them are free.
struct Lines {
    xs: Vec<i32>,
    ys: Vec<i32>,
    /// Cost factor of the stretch to the right of each crossing; 0 where it is barred.
    right: Vec<u8>,
    /// The same upwards.
    up: Vec<u8>,
}

impl Lines {
    fn of(ask: &Ask<'_>, room: i32) -> Self {
        let gap = ask.half + room;
        let (width, height) = ask.outline.extent();
        let mut xs = vec![ask.start.0, ask.goal.0];
        let mut ys = vec![ask.start.1, ask.goal.1];
        for (x, y) in [ask.start, ask.goal] {
            for bends in [1, 2] {
                xs.extend([x - bends * ask.radius, x + bends * ask.radius]);
                ys.extend([y - bends * ask.radius, y + bends * ask.radius]);
            }
        }
        for rect in ask.bodies.iter().map(|(rect, _)| rect).chain(&ask.barred) {
            xs.extend([rect.x_mm - gap, rect.right() + gap]);
            ys.extend([rect.y_mm - gap, rect.top() + gap]);
        }
        for (list, most) in [(&mut xs, width), (&mut ys, height)] {
            list.push(ask.half + 1);
            list.push(most - ask.half - 1);
            list.retain(|at| (0..=most).contains(at));
            list.sort_unstable();
            list.dedup();
        }
        let mut lines = Self { xs, ys, right: Vec::new(), up: Vec::new() };
        for row in 0..lines.ys.len() {
            for col in 0..lines.xs.len() {
                let here = (lines.xs[col], lines.ys[row]);
                let right = lines.xs.get(col + 1).map(|x| (*x, here.1));
                let up = lines.ys.get(row + 1).map(|y| (here.0, *y));
                lines.right.push(right.map_or(0, |to| factor(ask, gap, here, to)));
                lines.up.push(up.map_or(0, |to| factor(ask, gap, here, to)));
            }
        }
        lines
    }

    fn index(&self, at: (i32, i32)) -> Option<(usize, usize)> {
        Some((self.xs.binary_search(&at.0).ok()?, self.ys.binary_search(&at.1).ok()?))
    }

    /// Cost factor of the stretch between two neighbouring crossings; `None` where it is barred.
    fn unit(&self, col: usize, row: usize, next_col: usize, next_row: usize) -> Option<i64> {
        let at = row.min(next_row) * self.xs.len() + col.min(next_col);
        let factor = if row == next_row { self.right.get(at) } else { self.up.get(at) };
        factor.filter(|factor| **factor > 0).map(|factor| i64::from(*factor))
    }
}

/// 0 where the stretch is barred, else what a millimetre of it costs.
fn factor(ask: &Ask<'_>, gap: i32, from: (i32, i32), to: (i32, i32)) -> u8 {
    // One less than the gap, so that the lines along an obstacle are free.
    let keep = (gap - 1).max(0);
    let is_barred = ask.bodies.iter().any(|(rect, is_own)| {
        let rect = if *is_own { *rect } else { rect.grown([keep; 4]) };
        rect.is_crossed(from, to)
    }) || ask.barred.iter().any(|rect| rect.grown([keep; 4]).is_crossed(from, to));
    if is_barred {
        return 0;
    }
    let half = ask.half.max(1);
    let (left, low) = (from.0.min(to.0), from.1.min(to.1));
    let strip = if from.1 == to.1 {
        Rect::new(left, low - half, (to.0 - from.0).abs(), 2 * half)
    } else {
        Rect::new(left - half, low, 2 * half, (to.1 - from.1).abs())
    };
    if !ask.outline.holds(strip) {
        return 0;
    }
    let is_beside = ask.lanes.iter().any(|lane| {
        are_mixed(lane.current, ask.current) && {
            let is_level = from.1 == to.1;
            let is_lane_level = lane.from.1 == lane.to.1;
            is_level == is_lane_level && gap_mm((from, to), (lane.from, lane.to)) < ask.apart
        }
    });
    if is_beside { BESIDE as u8 } else { 1 }
}

/// Whether one is direct and the other alternating current.
pub fn are_mixed(a: Current, b: Current) -> bool {
    matches!((a, b), (Current::Ac, Current::Dc) | (Current::Dc, Current::Ac))
}

/// Distance of two parallel stretches; those that do not pass each other are as far as their ends along and across.
pub fn gap_mm(a: ((i32, i32), (i32, i32)), b: ((i32, i32), (i32, i32))) -> i32 {
    let span = |stretch: ((i32, i32), (i32, i32))| {
        let ((ax, ay), (bx, by)) = stretch;
        Rect::new(ax.min(bx), ay.min(by), (ax - bx).abs(), (ay - by).abs())
    };
    let (x, y) = span(a).gap(span(b));
    x.max(y)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ask<'a>(outline: &'a Outline, bodies: &'a [(Rect, bool)]) -> Ask<'a> {
        Ask {
            outline,
            bodies,
            barred: Vec::new(),
            start: (100, 100),
            start_way: (1, 0),
            goal: (400, 300),
            goal_way: Some((1, 0)),
            half: 5,
            radius: 45,
            lanes: &[],
            current: Current::Dc,
            apart: 100,
        }
    }

    #[test]
    fn it_bends_no_sooner_than_its_radius_allows() {
        let outline = Outline::rectangle(600, 400);
        let points = find(&ask(&outline, &[]), 0).unwrap();
        assert_eq!(points.len(), 4, "{points:?}");
        assert!(points[1].0 - points[0].0 >= 45 && points[3].0 - points[2].0 >= 45);
        assert!((points[2].1 - points[1].1).abs() >= 90);
    }

    #[test]
    fn it_goes_around_what_stands_in_the_way() {
        let outline = Outline::rectangle(600, 400);
        let wall = [(Rect::new(200, 0, 50, 350), false)];
        let points = find(&Ask { goal: (400, 100), goal_way: None, ..ask(&outline, &wall) }, 0).unwrap();
        for pair in points.windows(2) {
            assert!(!wall[0].0.is_crossed(pair[0], pair[1]), "{points:?}");
        }
        let closed = [(Rect::new(200, 0, 50, 400), false)];
        assert!(find(&ask(&outline, &closed), 0).is_none());
    }

    #[test]
    fn a_goal_beside_too_near_for_a_bend_is_refused() {
        let outline = Outline::rectangle(600, 400);
        assert!(
            find(&Ask { goal: (120, 110), ..ask(&outline, &[]) }, 0).is_none_or(|points| points.len() > 4)
        );
    }
}
