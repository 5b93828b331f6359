//! The edge to saw: the outline of the board less what is cut out of it.
//! Never: changes a corner that a person gave.
//! Start at [`edges`].

use board::{Plan, Rect};

/// Whole millimetres.
pub type Corner = (i32, i32);

/// The closed lines to saw. Of a board with square corners the notches are taken out of the outline; where an edge slopes,
/// the outline and each notch are lines of their own.
pub fn edges(plan: &Plan) -> Vec<Vec<Corner>> {
    let corners = &plan.outline.corners_mm;
    let slopes = plan.outline.edges().any(|(a, b)| a.0 != b.0 && a.1 != b.1);
    if plan.notches.is_empty() || slopes {
        let mut all = vec![corners.clone()];
        all.extend(plan.notches.iter().map(|notch| square(*notch)));
        return all;
    }
    let mut xs: Vec<i32> = corners.iter().map(|corner| corner.0).collect();
    let mut ys: Vec<i32> = corners.iter().map(|corner| corner.1).collect();
    for notch in &plan.notches {
        xs.extend([notch.x_mm, notch.right()]);
        ys.extend([notch.y_mm, notch.top()]);
    }
    for list in [&mut xs, &mut ys] {
        list.sort_unstable();
        list.dedup();
    }
    let is_wood = |x: f64, y: f64| {
        holds(corners, x, y)
            && !plan.notches.iter().any(|notch| {
                x > f64::from(notch.x_mm)
                    && x < f64::from(notch.right())
                    && y > f64::from(notch.y_mm)
                    && y < f64::from(notch.top())
            })
    };
    // Every side of a cell of wood that has no wood beyond it, with the wood at its left.
    let mut sides: Vec<(Corner, Corner)> = Vec::new();
    for x in xs.windows(2) {
        for y in ys.windows(2) {
            let (x0, x1, y0, y1) = (x[0], x[1], y[0], y[1]);
            let (mx, my) = (f64::from(x0 + x1) / 2.0, f64::from(y0 + y1) / 2.0);
            if !is_wood(mx, my) {
                continue;
            }
            let beyond = |dx: f64, dy: f64| {
                is_wood(
                    mx + dx * (f64::from(x1 - x0) / 2.0 + 0.25),
                    my + dy * (f64::from(y1 - y0) / 2.0 + 0.25),
                )
            };
            let all = [
                (beyond(0.0, -1.0), ((x0, y0), (x1, y0))),
                (beyond(1.0, 0.0), ((x1, y0), (x1, y1))),
                (beyond(0.0, 1.0), ((x1, y1), (x0, y1))),
                (beyond(-1.0, 0.0), ((x0, y1), (x0, y0))),
            ];
            sides.extend(all.into_iter().filter(|(is_inner, _)| !is_inner).map(|(_, side)| side));
        }
    }
    chain(sides)
}

/// Joins sides into closed lines and drops corners on straight stretches.
fn chain(mut sides: Vec<(Corner, Corner)>) -> Vec<Vec<Corner>> {
    let mut loops = Vec::new();
    while let Some((first, mut end)) = sides.pop() {
        let mut points = vec![first];
        while end != first {
            points.push(end);
            let Some(next) = sides.iter().position(|side| side.0 == end) else { break };
            end = sides.swap_remove(next).1;
        }
        let count = points.len();
        let kept: Vec<Corner> = (0..count)
            .filter(|at| {
                let (a, b, c) = (points[(at + count - 1) % count], points[*at], points[(at + 1) % count]);
                !((a.0 == b.0 && b.0 == c.0) || (a.1 == b.1 && b.1 == c.1))
            })
            .map(|at| points[at])
            .collect();
        loops.push(kept);
    }
    loops.sort();
    loops
}

fn square(rect: Rect) -> Vec<Corner> {
    vec![
        (rect.x_mm, rect.y_mm),
        (rect.right(), rect.y_mm),
        (rect.right(), rect.top()),
        (rect.x_mm, rect.top()),
    ]
}

/// Whether a point lies inside a polygon (crossings of a ray to the right).
fn holds(corners: &[Corner], x: f64, y: f64) -> bool {
    let count = corners.len();
    (0..count)
        .filter(|at| {
            let (a, b) = (corners[*at], corners[(at + 1) % count]);
            let (ax, ay, bx, by) = (f64::from(a.0), f64::from(a.1), f64::from(b.0), f64::from(b.1));
            (ay > y) != (by > y) && x < ax + (y - ay) * (bx - ax) / (by - ay)
        })
        .count()
        % 2
        == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(corners: &[Corner], notches: &[Rect]) -> Vec<Vec<Corner>> {
        let wanted = model::BoardIntent::default();
        let (mut plan, _) = Plan::of(&wanted, model::Craft::Van, &[], &[]);
        plan.outline.corners_mm = corners.to_vec();
        plan.notches = notches.to_vec();
        edges(&plan)
    }

    #[test]
    fn a_notch_at_the_edge_becomes_part_of_it() {
        let board = [(0, 0), (100, 0), (100, 80), (0, 80)];
        let arch = cut(&board, &[Rect::new(40, 0, 20, 30)]);
        assert_eq!(arch.len(), 1);
        assert_eq!(arch[0].len(), 8);
        for corner in [(40, 0), (40, 30), (60, 30), (60, 0)] {
            assert!(arch[0].contains(&corner), "{corner:?} in {arch:?}");
        }
        let window = cut(&board, &[Rect::new(40, 20, 20, 30)]);
        assert_eq!(window.iter().map(Vec::len).collect::<Vec<_>>(), [4, 4]);
        assert_eq!(cut(&board, &[])[0], board);
    }

    #[test]
    fn a_sloping_edge_is_kept() {
        let roof = [(0, 0), (100, 0), (100, 50), (50, 80), (0, 50)];
        let both = cut(&roof, &[Rect::new(0, 0, 20, 20)]);
        assert_eq!(both.len(), 2);
        assert_eq!(both[0], roof);
    }
}
