//! Time of the bank for one hour: the step with its limits, and each limit on its own. `cargo bench -p energy --bench storage`.

use divan::{Bencher, black_box, counter::ItemsCount};
use energy::storage::{BankModel, Wear};
use model::parts::Chemistry;

fn main() {
    divan::main();
}

const HOURS: usize = 8760;
const ALL: [&str; 4] = ["lfp", "agm", "gel", "flooded"];

/// One battery of the built-in library, the first of its chemistry.
fn bank(word: &str) -> BankModel {
    let chemistry = Chemistry::from_word(word).expect("a chemistry");
    let battery = model::library::builtin().battery.values().find(|part| part.chemistry == chemistry);
    let battery = battery.expect("the library has one of each chemistry");
    BankModel::of(
        &model::Bank {
            chemistry,
            series: 1,
            parallel: 2,
            capacity: battery.capacity * 2.0,
            energy: quantity::WattHours::zero(),
            usable: quantity::WattHours::zero(),
            charge_limit: battery.charge_limit * 2.0,
            discharge_limit: battery.discharge_limit * 2.0,
            surge_limit: battery.discharge_limit * 2.0,
            resistance: battery.internal_resistance * 0.5,
            short_circuit: quantity::Amps::zero(),
            voltage_high: quantity::Volts::zero(),
            voltage_low: quantity::Volts::zero(),
            batteries: Vec::new(),
            zone: 0,
        },
        battery,
    )
}

/// A year of power as a van has it: sun by day, loads always; and a temperature by hour.
fn year(bank: &BankModel) -> Vec<(f64, f64)> {
    let scale = bank.capacity_wh() / 12.0;
    (0..HOURS)
        .map(|hour| {
            let (day, of_day) = ((hour / 24) as f64, (hour % 24) as f64);
            let sun = (1.0 - ((of_day - 12.5) / 5.0).powi(2)).max(0.0) * (1.2 + 0.8 * (day / 58.0).sin());
            let load = 0.35 + 0.1 * (of_day * 0.9).sin() + 0.05 * (day * 1.7).sin();
            ((sun - load) * scale, 12.0 + 10.0 * (day / 58.0 - 1.2).sin() + 4.0 * (of_day / 3.8).sin())
        })
        .collect()
}

fn run(bencher: Bencher<'_, '_>, each: impl Fn(&BankModel, &[(f64, f64)]) -> f64 + Sync, word: &str) {
    let bank = bank(word);
    let year = year(&bank);
    bencher.counter(ItemsCount::new(HOURS)).bench(|| each(black_box(&bank), black_box(&year)));
}

/// Step with its limits, as the hour loop calls it.
#[divan::bench(args = ALL)]
fn step(bencher: Bencher<'_, '_>, word: &str) {
    let each = |bank: &BankModel, year: &[(f64, f64)]| {
        let mut state = bank.at(0.8);
        let mut sum = 0.0;
        for (power_w, temp_c) in year {
            let step = bank.step(&mut state, *power_w, *temp_c, 1.0);
            sum += step.loss_wh + step.terminal_wh;
        }
        sum
    };
    run(bencher, each, word);
}

/// The same with the count of wear.
#[divan::bench(args = ALL)]
fn step_and_wear(bencher: Bencher<'_, '_>, word: &str) {
    let each = |bank: &BankModel, year: &[(f64, f64)]| {
        let mut state = bank.at(0.8);
        let mut wear = Wear::new(bank);
        for (power_w, temp_c) in year {
            bank.step(&mut state, *power_w, *temp_c, 1.0);
            wear.count(&state, *temp_c, 1.0);
        }
        wear.full_cycles()
    };
    run(bencher, each, word);
}

/// Both limits asked for, then the step.
#[divan::bench(args = ALL)]
fn limits_and_step(bencher: Bencher<'_, '_>, word: &str) {
    let each = |bank: &BankModel, year: &[(f64, f64)]| {
        let mut state = bank.at(0.8);
        let mut sum = 0.0;
        for (power_w, temp_c) in year {
            let most = bank.charge_limit_w(&state, *temp_c, 1.0);
            let least = -bank.discharge_limit_w(&state, *temp_c, 1.0);
            sum += bank.step(&mut state, power_w.clamp(least, most), *temp_c, 1.0).loss_wh;
        }
        sum
    };
    run(bencher, each, word);
}

/// Making the model of a bank.
#[divan::bench(args = ALL)]
fn model(bencher: Bencher<'_, '_>, word: &str) {
    bencher.bench(|| bank(black_box(word)));
}
