//! Placing as numbers: bodies, the cables that pull them together, where they may stand, and what a placing costs.
//! Never: searches (see `anneal`); knows a device's name.
//! Start at [`Problem`]; [`Problem::cost`] is what is made least, [`Problem::faults_mm`] what must be zero.

use model::Side;

use crate::geometry::{Outline, Rect, Turn, outwards};

/// Where a body stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    /// Left edge.
    pub x: i32,
    /// Lower edge.
    pub y: i32,
    /// How it is turned.
    pub turn: Turn,
}

/// A body in one turn.
#[derive(Clone, Debug)]
pub struct Stance {
    pub size: (i32, i32),
    /// Free space at top, right, bottom, left.
    pub clear: [i32; 4],
    /// Where cables leave, relative to the lower left corner: left, low, right, high.
    pub ports: Vec<[i32; 4]>,
    /// The way in which they leave; none from a busbar, on whose two long sides they may.
    pub ways: Vec<Option<(i32, i32)>>,
}

/// A body to place.
#[derive(Clone, Debug)]
pub struct Piece {
    /// By quarter turns.
    pub stances: [Stance; 4],
    /// Quarter turns in which it may stand.
    pub turns: Vec<u8>,
    /// What it costs to stand a millimetre higher.
    pub lift: i64,
    pub service: bool,
    pub is_ac: bool,
    pub is_dc: bool,
    /// Where it must stand.
    pub pin: Option<Spot>,
}

/// An end of a cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// At a port of a piece.
    Port(usize, usize),
    /// Off the board, over its entry side.
    Entry,
}

/// A cable that pulls.
#[derive(Clone, Copy, Debug)]
pub struct Net {
    pub from: (usize, usize),
    pub to: End,
    /// What a millimetre of it costs.
    pub weight: i64,
    /// Bend radius of its middle.
    pub radius: i32,
    /// Length beyond which each millimetre costs [`Net::over`] more: how far a fuse may stand from its source.
    pub most: Option<i32>,
    /// What a millimetre beyond [`Net::most`] costs.
    pub over: i64,
}

/// Blocked cells of the board, summed, so that a rectangle is answered in four look-ups.
#[derive(Clone, Debug)]
pub struct Blocked {
    cols: i32,
    rows: i32,
    grid: i32,
    sums: Vec<i32>,
}

impl Blocked {
    /// From what each cell is; cells count from the lower left.
    pub fn new(extent: (i32, i32), grid: i32, is_free: impl Fn(Rect) -> bool) -> Self {
        let (cols, rows) = (extent.0 / grid, extent.1 / grid);
        let mut sums = vec![0; ((cols + 1) * (rows + 1)) as usize];
        let at = |col: i32, row: i32| (row * (cols + 1) + col) as usize;
        for row in 0..rows {
            for col in 0..cols {
                let is_blocked = !is_free(Rect::new(col * grid, row * grid, grid, grid));
                sums[at(col + 1, row + 1)] =
                    i32::from(is_blocked) + sums[at(col, row + 1)] + sums[at(col + 1, row)]
                        - sums[at(col, row)];
            }
        }
        Self { cols, rows, grid, sums }
    }

    /// How many cells under the rectangle are blocked or off the board.
    pub fn under(&self, rect: Rect) -> i32 {
        let low = (rect.x_mm.div_euclid(self.grid), rect.y_mm.div_euclid(self.grid));
        let high = (-(-rect.right()).div_euclid(self.grid), -(-rect.top()).div_euclid(self.grid));
        let all = (high.0 - low.0) * (high.1 - low.1);
        let clip = |value: i32, most: i32| value.clamp(0, most);
        let (left, right) = (clip(low.0, self.cols), clip(high.0, self.cols));
        let (bottom, top) = (clip(low.1, self.rows), clip(high.1, self.rows));
        let on = (right - left) * (top - bottom);
        let at = |col: i32, row: i32| self.sums[(row * (self.cols + 1) + col) as usize];
        all - on + at(right, top) - at(left, top) - at(right, bottom) + at(left, bottom)
    }
}

/// Everything that placing needs.
#[derive(Clone, Debug)]
pub struct Problem {
    pub grid: i32,
    pub extent: (i32, i32),
    pub pieces: Vec<Piece>,
    pub nets: Vec<Net>,
    /// The nets of each piece.
    pub nets_of: Vec<Vec<usize>>,
    /// Where a body may not stand.
    pub body: Blocked,
    /// Where its free space may not reach.
    pub clear: Blocked,
    pub entry: Side,
    /// The side of the hand and how far it reaches.
    pub access: Option<(Side, i32)>,
    /// Distance between bodies of direct and of alternating current.
    pub apart: i32,
}

impl Problem {
    /// The nets of each piece, to be kept beside them.
    pub fn nets_by_piece(pieces: usize, nets: &[Net]) -> Vec<Vec<usize>> {
        let mut of = vec![Vec::new(); pieces];
        for (ix, net) in nets.iter().enumerate() {
            of[net.from.0].push(ix);
            if let End::Port(piece, _) = net.to
                && piece != net.from.0
            {
                of[piece].push(ix);
            }
        }
        of
    }

    pub fn stance(&self, piece: usize, spot: Spot) -> &Stance {
        &self.pieces[piece].stances[usize::from(spot.turn.count())]
    }

    pub fn rect(&self, piece: usize, spot: Spot) -> Rect {
        let (width, height) = self.stance(piece, spot).size;
        Rect::new(spot.x, spot.y, width, height)
    }

    fn port(&self, piece: usize, port: usize, spot: Spot) -> [i32; 4] {
        let [left, low, right, high] = self.stance(piece, spot).ports[port];
        [left + spot.x, low + spot.y, right + spot.x, high + spot.y]
    }

    fn net_cost(&self, net: &Net, spots: &[Spot]) -> i64 {
        let is_parked = |piece: usize| spots[piece].x == PARKED;
        if is_parked(net.from.0) || matches!(net.to, End::Port(piece, _) if is_parked(piece)) {
            return 0;
        }
        let a = self.port(net.from.0, net.from.1, spots[net.from.0]);
        let way_a = self.stance(net.from.0, spots[net.from.0]).ways[net.from.1];
        let length = match net.to {
            End::Port(piece, port) => {
                let b = self.port(piece, port, spots[piece]);
                laid_mm((a, way_a), (b, self.stance(piece, spots[piece]).ways[port]), net.radius)
            }
            End::Entry => {
                let out = outwards(self.entry);
                let turns = way_a.map_or(1, |way| 1 - (way.0 * out.0 + way.1 * out.1));
                let straight = match self.entry {
                    Side::Bottom => a[1],
                    Side::Top => self.extent.1 - a[3],
                    Side::Left => a[0],
                    Side::Right => self.extent.0 - a[2],
                };
                straight + 2 * turns * net.radius
            }
        };
        let length = length.max(0);
        let beyond = net.most.map_or(0, |most| (length - most).max(0));
        i64::from(length) * net.weight + i64::from(beyond) * net.over
    }

    fn lift_cost(&self, piece: usize, spot: Spot) -> i64 {
        let height = self.stance(piece, spot).size.1;
        self.pieces[piece].lift * i64::from(spot.y + height / 2)
    }

    /// What the placing of one piece costs: its cables and its height.
    pub fn piece_cost(&self, piece: usize, spots: &[Spot]) -> i64 {
        let nets: i64 = self.nets_of[piece].iter().map(|net| self.net_cost(&self.nets[*net], spots)).sum();
        nets + self.lift_cost(piece, spots[piece])
    }

    /// What a placing costs: length of each cable times its weight, and the height of what is heavy.
    pub fn cost(&self, spots: &[Spot]) -> i64 {
        let nets: i64 = self.nets.iter().map(|net| self.net_cost(net, spots)).sum();
        nets + (0..self.pieces.len()).map(|piece| self.lift_cost(piece, spots[piece])).sum::<i64>()
    }

    /// What the placed pieces cost among themselves, a lower bound of any placing that completes them.
    #[cfg(test)]
    pub fn cost_of_first(&self, count: usize, spots: &[Spot]) -> i64 {
        let is_placed =
            |net: &&Net| net.from.0 < count && !matches!(net.to, End::Port(piece, _) if piece >= count);
        let nets: i64 = self.nets.iter().filter(is_placed).map(|net| self.net_cost(net, spots)).sum();
        nets + (0..count).map(|piece| self.lift_cost(piece, spots[piece])).sum::<i64>()
    }

    /// How far two pieces are from standing as they must [mm].
    pub fn pair_mm(&self, a: usize, b: usize, spots: &[Spot]) -> i32 {
        let (rect_a, rect_b) = (self.rect(a, spots[a]), self.rect(b, spots[b]));
        let (gap_x, gap_y) = rect_a.gap(rect_b);
        let (piece_a, piece_b) = (&self.pieces[a], &self.pieces[b]);
        let is_mixed = (piece_a.is_ac && piece_b.is_dc) || (piece_a.is_dc && piece_b.is_ac);
        let apart = if is_mixed { self.apart } else { 0 };
        let (clear_a, clear_b) = (self.stance(a, spots[a]).clear, self.stance(b, spots[b]).clear);
        let most = |clear: [i32; 4]| clear[0].max(clear[1]).max(clear[2]).max(clear[3]);
        // At least one: without free space, two that overlap have no gap either.
        let widest = most(clear_a).max(most(clear_b)).max(apart).max(1);
        if gap_x >= widest || gap_y >= widest {
            return 0;
        }
        let mut wrong = rect_a.grown(clear_a).depth(rect_b) + rect_b.grown(clear_b).depth(rect_a);
        if apart > 0 {
            wrong += rect_a.grown([apart; 4]).depth(rect_b);
        }
        wrong
    }

    /// How far a piece by itself is from standing as it must [mm].
    pub fn alone_mm(&self, piece: usize, spot: Spot) -> i32 {
        if self.pieces[piece].pin.is_some() {
            return 0;
        }
        let rect = self.rect(piece, spot);
        let clear = rect.grown(self.stance(piece, spot).clear);
        let cells = self.body.under(rect) + self.clear.under(clear);
        let mut wrong = cells * self.grid;
        if self.pieces[piece].service
            && let Some((side, reach)) = self.access
        {
            wrong += (reach_mm(side, self.extent, rect) - reach).max(0);
        }
        wrong
    }

    /// How far a piece and its neighbours are from standing as they must [mm].
    pub fn piece_mm(&self, piece: usize, spots: &[Spot]) -> i32 {
        let mut wrong = self.alone_mm(piece, spots[piece]);
        for other in 0..self.pieces.len() {
            if other != piece && !self.are_both_pinned(piece, other) {
                wrong += self.pair_mm(piece, other, spots);
            }
        }
        wrong
    }

    /// How far the whole is from standing as it must [mm]; zero where everything stands well. Pins are judged elsewhere.
    pub fn faults_mm(&self, spots: &[Spot]) -> i32 {
        let mut wrong = 0;
        for a in 0..self.pieces.len() {
            wrong += self.alone_mm(a, spots[a]);
            for b in a + 1..self.pieces.len() {
                if !self.are_both_pinned(a, b) {
                    wrong += self.pair_mm(a, b, spots);
                }
            }
        }
        wrong
    }

    fn are_both_pinned(&self, a: usize, b: usize) -> bool {
        self.pieces[a].pin.is_some() && self.pieces[b].pin.is_some()
    }

    /// The positions of a piece in a turn: number along x and along y, on the grid.
    pub fn positions(&self, piece: usize, turn: Turn) -> (i32, i32) {
        let (width, height) = self.pieces[piece].stances[usize::from(turn.count())].size;
        (((self.extent.0 - width) / self.grid + 1).max(1), ((self.extent.1 - height) / self.grid + 1).max(1))
    }
}

/// About how long a cable becomes that is laid square between two terminals with this bend radius: the way along and across,
/// and a detour where its bends find no room. What stands between them is not looked at.
pub fn laid_mm(
    (a, way_a): ([i32; 4], Option<(i32, i32)>),
    (b, way_b): ([i32; 4], Option<(i32, i32)>),
    radius: i32,
) -> i32 {
    let step = |low_a: i32, high_a: i32, low_b: i32, high_b: i32| {
        if low_b > high_a { low_b - high_a } else { (high_b - low_a).min(0) }
    };
    let (dx, dy) = (step(a[0], a[2], b[0], b[2]), step(a[1], a[3], b[1], b[3]));
    let along_bar = |bar: [i32; 4], dx: i32, dy: i32| {
        if bar[2] > bar[0] { (0, if dy < 0 { -1 } else { 1 }) } else { (if dx < 0 { -1 } else { 1 }, 0) }
    };
    let (ax, ay) = way_a.unwrap_or_else(|| along_bar(a, dx, dy));
    let (bx, by) = way_b.unwrap_or_else(|| along_bar(b, -dx, -dy));
    let ahead = dx * ax + dy * ay;
    let aside = (dx * ay).abs() + (dy * ax).abs();
    let detour = match ax * bx + ay * by {
        -1 if ahead > 0 && swings(ahead, aside, radius) => 0,
        -1 if ahead > 0 => 4,
        -1 => 4 + if aside < 2 * radius { 4 } else { 0 },
        1 => 2 + if aside < 2 * radius { 4 } else { 0 },
        _ if ahead >= radius && -(dx * bx + dy * by) >= radius => 0,
        _ => 4,
    };
    dx.abs() + dy.abs() + detour * radius
}

/// Whether a cable can swing aside between two terminals that face each other: two arcs of equal angle, each with the radius.
/// Two arcs reach `aside = 2 r (1 - cos θ)` over `ahead = 2 r sin θ`, so `ahead² = aside (4 r - aside)` up to `aside = 2 r`.
pub fn swings(ahead: i32, aside: i32, radius: i32) -> bool {
    let (ahead, aside, radius) = (i64::from(ahead), i64::from(aside), i64::from(radius));
    if aside >= 2 * radius { ahead >= 2 * radius } else { ahead * ahead >= aside * (4 * radius - aside) }
}

/// Where a piece waits that is taken off the board for a moment: its cables pull at nothing.
pub const PARKED: i32 = -1_000_000;

/// How far a hand must reach from a side of the board to the near edge of a device.
pub fn reach_mm(side: Side, extent: (i32, i32), rect: Rect) -> i32 {
    match side {
        Side::Left => rect.x_mm,
        Side::Right => extent.0 - rect.right(),
        Side::Bottom => rect.y_mm,
        Side::Top => extent.1 - rect.top(),
    }
}

/// Where a body may stand and where its free space may reach, of a board.
pub fn blocked(
    outline: &Outline,
    notches: &[Rect],
    keep_out: &[Rect],
    margin: i32,
    strip: Option<(Side, i32)>,
    grid: i32,
) -> (Blocked, Blocked) {
    let extent = outline.extent();
    let clear = Blocked::new(extent, grid, |cell| {
        outline.holds(cell) && notches.iter().all(|notch| notch.depth(cell) == 0)
    });
    let strip = strip.map(|(side, depth)| match side {
        Side::Bottom => Rect::new(0, 0, extent.0, depth),
        Side::Top => Rect::new(0, extent.1 - depth, extent.0, depth),
        Side::Left => Rect::new(0, 0, depth, extent.1),
        Side::Right => Rect::new(extent.0 - depth, 0, depth, extent.1),
    });
    let body = Blocked::new(extent, grid, |cell| {
        clear.under(cell.grown([margin; 4])) == 0
            && keep_out.iter().chain(&strip).all(|area| area.depth(cell) == 0)
    });
    (body, clear)
}
