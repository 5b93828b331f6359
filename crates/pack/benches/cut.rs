//! The cut plan of 200 pieces, from reels of the trade and from one length where every centimetre counts.
//! Never: asserts a time; what it prints first is how far each plan is proven.
//! Start at [`main`].
#![allow(clippy::unwrap_used, clippy::print_stdout)] // A bench may stop at what it did not expect, and prints.

use pack::{Piece, Stock, cut_plan};
use quantity::{Metres, Money};

fn main() {
    for (name, pieces, stock) in cases() {
        let plan = cut_plan(&pieces, &stock, Metres::zero()).unwrap();
        println!(
            "{name}: {} reels, value {:.2}, bound {:.2}, {:?}",
            plan.reels.len(),
            plan.value,
            plan.bound,
            plan.proof
        );
    }
    divan::main();
}

/// Lengths by a fixed sequence, in whole centimetres.
fn lengths(count: u64, least: u64, most: u64) -> Vec<Piece> {
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    let mut next = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        state >> 33
    };
    let piece = |cm: u64| Piece { name: String::new(), length: Metres::new(cm as f64 / 100.0) };
    (0..count).map(|_| piece(least + next() % (most - least))).collect()
}

fn stock(metres: f64, price: Option<f64>) -> Stock {
    Stock { length: Metres::new(metres), price: price.map(Money::new) }
}

fn cases() -> Vec<(&'static str, Vec<Piece>, Vec<Stock>)> {
    let reels: Vec<Stock> = [10.0, 25.0, 50.0, 100.0].map(|metres| stock(metres, None)).into();
    let priced: Vec<Stock> =
        [(5.0, 8.9), (7.5, 12.5), (12.0, 18.9)].map(|(metres, price)| stock(metres, Some(price))).into();
    vec![
        ("cables from reels", lengths(200, 40, 990), reels),
        ("from lengths of 10 m", lengths(200, 100, 700), vec![stock(10.0, None)]),
        ("long pieces of 10 m", lengths(200, 250, 600), vec![stock(10.0, None)]),
        ("from priced lengths", lengths(200, 50, 480), priced),
    ]
}

#[divan::bench(args = [0, 1, 2, 3])]
fn pieces_200(case: usize) -> f64 {
    let (_, pieces, stock) = cases().swap_remove(case);
    cut_plan(&pieces, &stock, Metres::zero()).unwrap().value
}
