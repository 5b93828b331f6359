//! Cables that lie on one another on the board, drawn side by side.
//! Never: moves the end of a cable at a terminal; the lengths are those of the layout, not of the picture.
//! Start at [`fan`].

use board::{HoleUse, Layout};

/// Air between two cables side by side \[mm\].
const AIR: f64 = 1.0;

/// A stretch of a cable: level or upright.
struct Stretch {
    route: usize,
    is_level: bool,
    /// y of a level one, x of an upright one.
    across: f64,
    low: f64,
    high: f64,
    half: f64,
    is_fixed: bool,
    /// How far it may move to either side, and the least and most it may be.
    most: f64,
    bounds: (f64, f64),
}

/// How far a stretch may move \[mm\].
const MOST: f64 = 70.0;

/// The corners of every route \[mm, y upwards\], moved apart where routes share a stretch; in the order of the layout.
/// A corner moves only along the stretches that meet there, so every line stays level or upright.
pub fn fan(layout: &Layout) -> Vec<Vec<(f64, f64)>> {
    let routes = &layout.routes;
    let extent = layout.plan.outline.extent();
    let hole_at = |(x, y): (f64, f64)| {
        let mut holes = layout.holes.iter().filter(|hole| hole.is_for == HoleUse::Cables);
        let found = holes.find(|hole| f64::from(hole.x_mm) == x && f64::from(hole.y_mm) == y);
        found.map_or(0.0, |hole| hole.diameter.get() * 500.0)
    };
    let mut stretches: Vec<Stretch> = Vec::new();
    let mut of: Vec<Vec<usize>> = Vec::new();
    let corners: Vec<Vec<(f64, f64)>> = routes.iter().map(|route| square(&route.points_mm)).collect();
    for (route, points) in corners.iter().enumerate() {
        let half = routes[route].diameter.get() * 500.0;
        let count = points.len().saturating_sub(1);
        let mut own = Vec::new();
        for (at, pair) in points.windows(2).enumerate() {
            let (a, b) = (pair[0], pair[1]);
            let is_level = a.1 == b.1;
            let (from, to) = if is_level { (a.0, b.0) } else { (a.1, b.1) };
            // The end at a terminal stays; the one at a hole may stand anywhere in it.
            let is_fixed = at == 0 || (at + 1 == count && !routes[route].leaves);
            own.push(stretches.len());
            stretches.push(Stretch {
                route,
                is_level,
                across: if is_level { a.1 } else { a.0 },
                low: from.min(to),
                high: from.max(to),
                half,
                is_fixed,
                most: if at + 1 == count { (hole_at(b) - half).max(0.0) } else { MOST },
                bounds: (half, f64::from(if is_level { extent.1 } else { extent.0 }) - half),
            });
        }
        of.push(own);
    }
    let mut order: Vec<usize> = (0..stretches.len()).collect();
    order.sort_by(|a, b| {
        let (a, b) = (&stretches[*a], &stretches[*b]);
        b.is_fixed
            .cmp(&a.is_fixed)
            .then(b.half.total_cmp(&a.half))
            .then((b.high - b.low).total_cmp(&(a.high - a.low)))
    });
    let mut done: Vec<usize> = Vec::new();
    for ix in order {
        let own = &stretches[ix];
        if !own.is_fixed {
            let beside: Vec<(f64, f64)> = done
                .iter()
                .map(|other| &stretches[*other])
                .filter(|other| {
                    other.is_level == own.is_level
                        && other.route != own.route
                        && other.low < own.high + AIR
                        && own.low < other.high + AIR
                })
                .map(|other| (other.across, other.half + own.half + AIR))
                .collect();
            let is_free = |at: f64| beside.iter().all(|(across, apart)| (at - across).abs() >= apart - 1e-6);
            let wish = own.across;
            let places = beside.iter().flat_map(|(across, apart)| [across - apart, across + apart]);
            let nearest = std::iter::once(wish)
                .chain(places)
                .filter(|at| (at - wish).abs() <= own.most && *at >= own.bounds.0 && *at <= own.bounds.1)
                .filter(|at| is_free(*at))
                .min_by(|a, b| (a - wish).abs().total_cmp(&(b - wish).abs()).then(a.total_cmp(b)));
            stretches[ix].across = nearest.unwrap_or(wish);
        }
        done.push(ix);
    }
    corners
        .iter()
        .zip(&of)
        .map(|(points, own)| {
            let mut moved = points.clone();
            for (at, ix) in own.iter().enumerate() {
                let stretch = &stretches[*ix];
                for point in moved.iter_mut().skip(at).take(2) {
                    if stretch.is_level {
                        point.1 = stretch.across;
                    } else {
                        point.0 = stretch.across;
                    }
                }
            }
            moved
        })
        .collect()
}

/// Corners without those on a straight stretch.
fn square(points: &[(i32, i32)]) -> Vec<(f64, f64)> {
    let mut out: Vec<(i32, i32)> = Vec::new();
    for point in points {
        if out.last() == Some(point) {
            continue;
        }
        if let [.., a, b] = out[..]
            && ((a.0 == b.0 && b.0 == point.0) || (a.1 == b.1 && b.1 == point.1))
        {
            out.pop();
        }
        out.push(*point);
    }
    out.into_iter().map(|(x, y)| (f64::from(x), f64::from(y))).collect()
}
