//! The best placing of a few pieces by trying all, to hold the search against.
//! Never: used outside tests.

use crate::geometry::Turn;
use crate::problem::{Problem, Spot};

/// The least cost of any placing in which everything stands well, and that placing; `None` where there is none.
pub fn best(problem: &Problem) -> Option<(i64, Vec<Spot>)> {
    let mut best = None;
    let mut spots = vec![Spot { x: 0, y: 0, turn: Turn::NONE }; problem.pieces.len()];
    descend(problem, 0, &mut spots, &mut best);
    best
}

fn descend(problem: &Problem, piece: usize, spots: &mut Vec<Spot>, best: &mut Option<(i64, Vec<Spot>)>) {
    let so_far = problem.cost_of_first(piece, spots);
    if best.as_ref().is_some_and(|best| so_far >= best.0) {
        return;
    }
    if piece == problem.pieces.len() {
        *best = Some((so_far, spots.clone()));
        return;
    }
    for turn in &problem.pieces[piece].turns {
        let turn = Turn::quarters(*turn);
        let (cols, rows) = problem.positions(piece, turn);
        for row in 0..rows {
            for col in 0..cols {
                spots[piece] = Spot { x: col * problem.grid, y: row * problem.grid, turn };
                let is_well = problem.alone_mm(piece, spots[piece]) == 0
                    && (0..piece).all(|other| problem.pair_mm(other, piece, spots) == 0);
                if is_well {
                    descend(problem, piece + 1, spots, best);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::anneal::{Effort, solve};
    use crate::geometry::{Outline, outwards};
    use crate::problem::{End, Net, Piece, Stance, blocked};
    use model::Side;

    fn piece(width: i32, height: i32, clear: i32, can_turn: bool) -> Piece {
        let stances = [0, 1, 2, 3].map(|turn| {
            let turn = Turn::quarters(turn);
            let point = |at| {
                let (x, y) = turn.point((width, height), at);
                [x, y, x, y]
            };
            Stance {
                size: turn.size(width, height),
                clear: turn.sides([clear, clear / 2, clear, clear / 2]),
                ports: vec![point((0, height / 2)), point((width, height / 2)), point((width / 2, 0))],
                ways: [Side::Left, Side::Right, Side::Bottom]
                    .map(|side| Some(outwards(turn.side(side))))
                    .to_vec(),
            }
        });
        let turns = if can_turn { vec![0, 1, 2, 3] } else { vec![0] };
        Piece { stances, turns, lift: 3, service: false, is_ac: false, is_dc: true, pin: None }
    }

    fn small(seed: u64, count: usize, grid: i32) -> Problem {
        // Small numbers from the seed, so that the cases differ.
        let mut state = seed;
        let mut next = |count: u64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) % count
        };
        let pieces: Vec<Piece> = (0..count)
            .map(|_| {
                piece(
                    40 + 20 * next(4) as i32,
                    40 + 20 * next(3) as i32,
                    20 * next(2) as i32,
                    count <= 4 && next(2) == 0,
                )
            })
            .collect();
        let mut nets = Vec::new();
        for a in 0..count {
            nets.push(Net {
                from: (a, next(3) as usize),
                to: End::Port((a + 1) % count, next(3) as usize),
                weight: 20 + next(900) as i64,
                radius: 10,
                // Every third has a length that it had better not exceed.
                most: (a % 3 == 0).then_some(60),
                over: if a % 3 == 0 { 2000 } else { 0 },
            });
            if next(2) == 0 {
                nets.push(Net {
                    from: (a, next(3) as usize),
                    to: End::Entry,
                    weight: 20 + next(300) as i64,
                    radius: 10,
                    most: None,
                    over: 0,
                });
            }
        }
        let outline = Outline::rectangle(320, 240);
        let (body, clear) = blocked(&outline, &[], &[], 0, None, grid);
        let nets_of = Problem::nets_by_piece(count, &nets);
        Problem {
            grid,
            extent: (320, 240),
            pieces,
            nets,
            nets_of,
            body,
            clear,
            entry: Side::Bottom,
            access: None,
            apart: 0,
        }
    }

    /// Of 18 cases of 3 to 5 pieces the search may be dearer than the best that there is by 2 % in any and by 0.3 % on average.
    #[test]
    fn the_search_finds_what_trying_all_finds() {
        let mut loss = Vec::new();
        for seed in 0..18 {
            let (count, grid) = [(3, 20), (4, 40), (5, 40)][seed as usize % 3];
            let problem = small(seed, count, grid);
            let (spots, wrong) = solve(&problem, Effort { moves: 5000, runs: 16, more: 4, rebuilds: 300 });
            match best(&problem) {
                Some((least, _)) => {
                    assert_eq!(wrong, 0, "case {seed}");
                    let cost = problem.cost(&spots);
                    assert!(cost >= least, "case {seed}: {cost} beats the best there is, {least}");
                    loss.push((cost - least) as f64 / least.max(1) as f64);
                }
                None => assert!(wrong > 0, "case {seed} has no placing and one was found"),
            }
        }
        assert!(loss.len() >= 12, "{} cases can be placed", loss.len());
        let worst = loss.iter().copied().fold(0.0, f64::max);
        let mean = loss.iter().sum::<f64>() / loss.len() as f64;
        println!("{} cases: worst {worst:.4}, mean {mean:.5}", loss.len());
        assert!(worst <= 0.02 && mean <= 0.003, "worst {worst}, mean {mean}");
    }
}
