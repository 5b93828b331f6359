//! The bank's books, limits and laws, for every chemistry.

use energy::storage::{BankModel, BankState, Wear};
use model::parts::{Battery, Chemistry, Stud};
use proptest::prelude::*;
use quantity::{AmpHours, Amps, Celsius, Fraction, Kilograms, Ohms, Volts, WattHours};

/// One battery of 12 V and 100 Ah, of figures as the parts library has them.
fn battery(chemistry: Chemistry, peukert: f64) -> Battery {
    let lfp = chemistry == Chemistry::Lfp;
    let (charge, milliohm, absorption) = match chemistry {
        Chemistry::Lfp => (50.0, 4.0, 14.2),
        Chemistry::Agm => (25.0, 4.0, 14.5),
        Chemistry::Gel => (20.0, 6.0, 14.2),
        Chemistry::Flooded => (13.0, 8.0, 14.4),
    };
    Battery {
        title: "a battery".into(),
        price: Vec::new(),
        mass: Kilograms::zero(),
        size: Vec::new(),
        note: None,
        footprint: None,
        chemistry,
        voltage: Volts::new(if lfp { 12.8 } else { 12.0 }),
        capacity: AmpHours::new(100.0),
        charge_limit: Amps::new(charge),
        discharge_limit: Amps::new(100.0),
        surge_limit: None,
        surge_time: None,
        short_circuit: None,
        internal_resistance: Ohms::new(milliohm / 1000.0),
        absorption: Volts::new(absorption),
        float: Volts::new(13.5),
        cutoff: Volts::new(if lfp { 10.0 } else { 10.5 }),
        charge_coldest: Celsius::new(if lfp { 0.0 } else { -15.0 }),
        discharge_coldest: Celsius::new(-20.0),
        hottest: Celsius::new(50.0),
        usable: Fraction::new(0.5),
        heated: Some(false),
        peukert,
        stud: Stud::M8,
        most_series: 4,
        most_parallel: 4,
    }
}

fn bank_of(battery: &Battery, series: u32, parallel: u32) -> BankModel {
    let (s, p) = (f64::from(series), f64::from(parallel));
    let bank = model::Bank {
        chemistry: battery.chemistry,
        series,
        parallel,
        capacity: battery.capacity * p,
        energy: WattHours::zero(),
        usable: WattHours::zero(),
        charge_limit: battery.charge_limit * p,
        discharge_limit: battery.discharge_limit * p,
        surge_limit: battery.discharge_limit * p,
        resistance: battery.internal_resistance * (s / p),
        short_circuit: Amps::zero(),
        voltage_high: Volts::zero(),
        voltage_low: Volts::zero(),
        batteries: Vec::new(),
        zone: Default::default(),
    };
    BankModel::of(&bank, battery)
}

fn peukert(chemistry: Chemistry) -> f64 {
    match chemistry {
        Chemistry::Lfp => 1.02,
        Chemistry::Agm => 1.1,
        Chemistry::Gel => 1.17,
        Chemistry::Flooded => 1.3,
    }
}

fn bank(chemistry: Chemistry) -> BankModel {
    bank_of(&battery(chemistry, peukert(chemistry)), 1, 1)
}

/// Books of one step: the terminals give what the store and the losses take.
fn books_close(model: &BankModel, state: &mut BankState, power: f64, temp: f64, hours: f64) -> f64 {
    let before = model.stored_wh(state);
    let step = model.step(state, power, temp, hours);
    // Energies of a full bank carry 16 digits; a step of less than a thousandth of it is held to that.
    let scale = step.terminal_wh.abs().max(1e-3 * model.capacity_wh());
    let open = (step.terminal_wh - step.stored_wh - step.loss_wh).abs() / scale;
    assert!(open < 1e-12, "{power} W at {temp} °C for {hours} h: {step:?}, open by {open:e}");
    // The store as the state has it: absolute, since the state of charge carries 16 digits of a full bank.
    let moved = model.stored_wh(state) - before;
    assert!((moved - step.stored_wh).abs() < 1e-12 * model.capacity_wh(), "{moved} {step:?}");
    assert!(step.loss_wh >= 0.0, "{step:?}");
    assert!((-1e-12..=1.0 + 1e-12).contains(&state.soc), "{state:?}");
    if power != 0.0 && step.amps != 0.0 {
        let through = step.volts * step.amps * hours;
        assert!((through / step.terminal_wh - 1.0).abs() < 1e-9, "{step:?}");
        assert!(step.terminal_wh.abs() <= (power * hours).abs() * (1.0 + 1e-12), "{power} {step:?}");
    }
    step.terminal_wh
}

fn chemistries() -> impl Strategy<Value = Chemistry> {
    prop::sample::select(Chemistry::ALL.to_vec())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    /// In = out + losses + change in store, over any sequence, for every chemistry, and never below empty or above full.
    #[test]
    fn books_close_over_any_sequence(
        chemistry in chemistries(),
        start in 0.0..=1.0f64,
        series in 1u32..=4,
        parallel in 1u32..=4,
        steps in prop::collection::vec((-1500.0..1500.0f64, -30.0..60.0f64, prop::sample::select(vec![1.0, 1.0, 0.25, 1.0 / 60.0, 3.0])), 1..60),
    ) {
        let model = bank_of(&battery(chemistry, peukert(chemistry)), series, parallel);
        let mut state = model.at(start);
        let begin = model.stored_wh(&state);
        let (mut terminal, mut losses, mut flow) = (0.0, 0.0, 0.0);
        for (power, temp, hours) in steps {
            let power = power * f64::from(series * parallel);
            let before = model.stored_wh(&state);
            let put = books_close(&model, &mut state, power, temp, hours);
            terminal += put;
            losses += put - (model.stored_wh(&state) - before);
            flow += put.abs();
        }
        let open = terminal - losses - (model.stored_wh(&state) - begin);
        prop_assert!(open.abs() <= 1e-10 * flow.max(model.capacity_wh()), "{open}");
    }

    /// What a limit says is what a step takes or gives.
    #[test]
    fn limits_are_met(chemistry in chemistries(), soc in 0.0..=1.0f64, lag in 0.0..0.1f64, temp in -25.0..55.0f64, hours in prop::sample::select(vec![1.0, 0.5, 0.1])) {
        let model = bank(chemistry);
        let state = BankState { soc, lag: if chemistry == Chemistry::Lfp { 0.0 } else { lag } };
        let most = model.charge_limit_w(&state, temp, hours);
        let least = model.discharge_limit_w(&state, temp, hours);
        prop_assert!(most >= 0.0 && least >= 0.0);
        for (asked, limit) in [(20_000.0, most), (-3000.0, -least), (most * 0.7, most * 0.7), (-least * 0.7, -least * 0.7)] {
            let mut after = state;
            let got = books_close(&model, &mut after, asked, temp, hours) / hours;
            if asked != 0.0 {
                // A resistance looked up a little apart from where the limit looked: 2 % at most.
                prop_assert!((got - limit).abs() <= 0.02 * limit.abs() + 1e-6, "asked {asked}, got {got}, limit {limit}");
            }
        }
    }

    #[test]
    fn voltage_rises_with_charge(chemistry in chemistries(), soc in 0.0..0.999f64, temp in -20.0..50.0f64) {
        let model = bank(chemistry);
        prop_assert!(model.open_voltage(soc + 0.001, temp) > model.open_voltage(soc, temp));
    }

    /// The store knows nothing of the path to it.
    #[test]
    fn store_follows_charge_alone(chemistry in chemistries(), soc in 0.0..=1.0f64, power in -300.0..300.0f64) {
        let model = bank(chemistry);
        let mut state = model.at(soc);
        model.step(&mut state, power, 20.0, 1.0);
        prop_assert_eq!(model.stored_wh(&state), model.stored_wh(&model.at(state.soc)));
    }
}

/// Charge that a discharge at constant current gives until the bank can give it no more [Ah]; constant current is followed in small steps of power.
fn capacity_at(model: &BankModel, amps: f64, temp: f64) -> f64 {
    let mut state = model.full();
    let (mut out, part) = (0.0, 0.005 * model.capacity_ah() / amps);
    let mut volts = model.open_voltage(1.0, 25.0);
    loop {
        let mut next = state;
        let mut step = model.step(&mut next, -amps * volts, temp, part);
        for _ in 0..4 {
            next = state;
            volts = step.volts.max(0.1);
            step = model.step(&mut next, -amps * volts, temp, part);
        }
        if -step.amps < amps * 0.98 {
            return out;
        }
        out -= step.amps * part;
        state = next;
    }
}

/// The 20 h rate is what the sheet's capacity is stated for (IEC 60896-21 and IEC 61427-1 use 10 h and 20 h likewise: the rated time empties it).
#[test]
fn twenty_hours_give_the_rated_capacity() {
    for chemistry in Chemistry::ALL {
        let model = bank(*chemistry);
        let got = capacity_at(&model, 5.0, 26.7);
        // Steps of half a per cent, and lithium stops at the cut-off of 10 V, 2.5 V a cell.
        assert!((got - 100.0).abs() < 2.0, "{chemistry}: {got}");
    }
}

/// Peukert, `t = H (C/(I H))^k`: the bank under constant current, against the law. Stated: within 5 % from the 20 h to the 1 h rate.
#[test]
fn peukerts_times_come_out() {
    for (chemistry, exponent) in
        [(Chemistry::Agm, 1.05), (Chemistry::Agm, 1.1), (Chemistry::Gel, 1.15), (Chemistry::Flooded, 1.25)]
    {
        let mut battery = battery(chemistry, exponent);
        // The law speaks of charge, not of voltage: no sag shall end the test.
        battery.cutoff = Volts::new(6.0);
        let model = bank_of(&battery, 1, 1);
        for amps in [5.0, 7.0, 10.0, 16.7, 25.0, 50.0] {
            let law = 20.0 * f64::powf(100.0 / (amps * 20.0), exponent) * amps;
            let got = capacity_at(&model, amps, 26.7);
            assert!(
                (got / law - 1.0).abs() < 0.05,
                "{chemistry} {exponent} at {amps} A: {got}, the law {law}"
            );
        }
    }
}

/// Manwell and McGowan: what is bound comes back with rest.
#[test]
fn rest_brings_charge_back() {
    let model = bank(Chemistry::Flooded);
    let mut state = model.full();
    while model.discharge_limit_w(&state, 25.0, 0.1) > 600.0 {
        model.step(&mut state, -600.0, 25.0, 0.1);
    }
    let tired = model.discharge_limit_w(&state, 25.0, 0.1);
    let mut before = tired;
    for _ in 0..10 {
        let step = model.step(&mut state, 0.0, 25.0, 1.0);
        assert_eq!(step.terminal_wh, 0.0);
        assert_eq!(step.stored_wh, 0.0);
        let now = model.discharge_limit_w(&state, 25.0, 0.1);
        assert!(now >= before);
        before = now;
    }
    // At the C/2 rate and an exponent of 1.3 half the charge is still bound; after rest only the voltage limits.
    assert!(tired < 600.0 && before > 1.5 * tired && before > 600.0, "{tired} W, rested {before} W");
    assert!(state.soc > 0.4, "{state:?}");
}

/// Two cell specification pages: no charge below 0 °C; a heated battery takes it, and the heater is paid.
#[test]
fn lithium_refuses_charge_below_freezing() {
    let model = bank(Chemistry::Lfp);
    let half = model.at(0.5);
    assert_eq!(model.charge_limit_w(&half, -0.1, 1.0), 0.0);
    assert!(model.charge_limit_w(&half, 0.0, 1.0) > 0.0);
    assert_eq!(model.heater_w(-10.0), 0.0);
    let mut state = half;
    assert_eq!(model.step(&mut state, 200.0, -5.0, 1.0).terminal_wh, 0.0);
    assert_eq!(state, half);
    let mut heated = battery(Chemistry::Lfp, 1.02);
    heated.heated = Some(true);
    let heated = bank_of(&heated, 1, 1);
    assert!(heated.charge_limit_w(&half, -10.0, 1.0) > 0.0);
    assert!(heated.heater_w(-10.0) > 0.0);
    assert_eq!(heated.heater_w(5.0), 0.0);
    assert_eq!(heated.charge_limit_w(&half, -25.0, 1.0), 0.0);
    // One cell specification: 0.2 C in 0 to 15 °C where 0.5 C holds above.
    let amps = |temp| model.step(&mut model.at(0.5), 2000.0, temp, 0.01).amps;
    let cold = amps(0.0) / amps(20.0);
    assert!((cold - 0.4).abs() < 0.001, "{cold}");
    // Too hot, and too cold to give.
    assert_eq!(model.charge_limit_w(&half, 46.0, 1.0), 0.0);
    assert_eq!(model.discharge_limit_w(&half, -20.1, 1.0), 0.0);
    assert_eq!(model.discharge_limit_w(&half, 51.0, 1.0), 0.0);
}

/// Three sizing worksheets print the cold multipliers of lead-acid: the capacity left is one over them, over 20 h.
#[test]
fn cold_locks_lead_acid_charge_away() {
    for chemistry in [Chemistry::Agm, Chemistry::Gel, Chemistry::Flooded] {
        let model = bank(chemistry);
        for (temp, multiplier) in
            [(26.7, 1.0), (21.2, 1.04), (15.6, 1.11), (10.0, 1.19), (4.4, 1.30), (-1.1, 1.40), (-6.7, 1.59)]
        {
            let got = capacity_at(&model, 5.0 / multiplier, temp);
            // Whole kelvins of the temperature table and steps of half a per cent.
            assert!(
                (got * multiplier / 100.0 - 1.0).abs() < 0.015,
                "{chemistry} {temp} °C: {got} Ah, table {}",
                100.0 / multiplier
            );
        }
    }
}

/// Battery training text: lead-acid returns about 70 % of the energy and 85 % of the charge (flooded); the first 80 % go in fast, the rest slowly.
#[test]
fn lead_acid_fills_as_the_texts_say() {
    for (chemistry, charge) in [(Chemistry::Flooded, 0.85), (Chemistry::Agm, 0.90), (Chemistry::Gel, 0.90)] {
        let model = bank(chemistry);
        let mut state = model.at(0.0);
        let (mut amp_hours, mut energy) = (0.0, 0.0);
        for _ in 0..4000 {
            let step = model.step(&mut state, 1e4, 25.0, 0.1);
            amp_hours += step.amps * 0.1;
            energy += step.terminal_wh;
        }
        assert!(state.soc > 0.999, "{state:?}");
        assert!((100.0 * state.soc / amp_hours - charge).abs() < 0.02, "{chemistry}: {amp_hours} Ah in");
        let mut out = 0.0;
        while model.discharge_limit_w(&state, 25.0, 0.1) > 60.0 {
            out -= model.step(&mut state, -60.0, 25.0, 0.1).terminal_wh;
        }
        let both = out / energy;
        println!("{chemistry}: energy out over in {both:.3}");
        assert!((0.66..0.82).contains(&both), "{chemistry}: {both}");
    }
}

/// Terminal voltage at 0.2 C, against PyBaMM 26.10.1.1, Doyle-Fuller-Newman model, parameter set Prada2013, from full to 2.5 V at 25 °C
/// (computed): 3.2878, 3.2492 and 3.1543 V a cell after 20, 50 and 80 % of the charge.
#[test]
fn lithium_sags_as_the_cell_model_does() {
    let model = bank(Chemistry::Lfp);
    for (soc, volts) in [(0.8, 3.2878), (0.5, 3.2492), (0.2, 3.1543)] {
        let step = model.step(&mut model.at(soc), -20.0 * volts * 4.0, 25.0, 0.01);
        // The cell model's curve is cut at another full: 20 mV covers the shift on the slope below 30 %.
        assert!((step.volts / 4.0 - volts).abs() < 0.02, "{soc}: {} for {volts}", step.volts / 4.0);
    }
}

/// Reference table: at least 92 % of the energy comes back from lithium iron phosphate (from memory; its upper figure of 96 % holds for higher
/// currents than this round at C/3). Never more than of the charge, 99 %.
#[test]
fn lithium_returns_most_of_the_energy() {
    let model = bank(Chemistry::Lfp);
    let mut state = model.at(0.1);
    let (mut put, mut got) = (0.0, 0.0);
    while state.soc < 0.9 {
        put += model.step(&mut state, 400.0, 25.0, 0.002).terminal_wh;
    }
    while state.soc > 0.1 {
        got -= model.step(&mut state, -400.0, 25.0, 0.002).terminal_wh;
    }
    let both = got / put;
    assert!((0.92..0.99).contains(&both), "{both}");
}

#[test]
fn the_bank_at_rest_loses_its_monthly_share() {
    for (chemistry, month) in [(Chemistry::Lfp, 0.025), (Chemistry::Agm, 0.02), (Chemistry::Flooded, 0.05)] {
        let model = bank(chemistry);
        let mut state = model.full();
        let mut lost = 0.0;
        for _ in 0..365 {
            lost += model.rest(&mut state, 25.0, 24.0);
        }
        let twelve = f64::powi(1.0 - month, 12);
        assert!((state.soc - twelve).abs() < 0.01, "{chemistry}: {}", state.soc);
        assert!((model.stored_wh(&model.full()) - model.stored_wh(&state) - lost).abs() < 1e-9);
        let mut hot = model.full();
        model.rest(&mut hot, 35.0, 24.0);
        let mut mild = model.full();
        model.rest(&mut mild, 25.0, 24.0);
        assert!(((1.0 - hot.soc) / (1.0 - mild.soc) - 2.0).abs() < 1e-6);
    }
}

#[test]
fn nonsense_figures_give_a_bank_that_does_nothing() {
    let mut none = battery(Chemistry::Agm, f64::NAN);
    none.capacity = AmpHours::new(0.0);
    none.charge_limit = Amps::new(-5.0);
    none.discharge_limit = Amps::new(0.0);
    none.internal_resistance = Ohms::new(0.0);
    let model = bank_of(&none, 0, 0);
    let mut state = model.at(f64::NAN);
    for power in [100.0, -100.0, 0.0] {
        let step = model.step(&mut state, power, 20.0, 1.0);
        assert!(step.terminal_wh.abs() < 1e-3, "{step:?}");
        assert!(state.soc.is_finite());
    }
}

/// Wear of a plain day: one cycle of a depth, every day of a year.
fn daily(model: &BankModel, from: f64, to: f64, temp: f64, days: usize) -> Wear {
    let mut wear = Wear::new(model);
    for _ in 0..days {
        for hour in 0..24 {
            let share = (hour as f64 - 12.0).abs() / 12.0;
            wear.count(&model.at(to + (from - to) * share), temp, 1.0);
        }
    }
    wear
}

/// ASTM E1049 rainflow: the standard's own history (Fig. 6: -2, 1, -3, 5, -1, 3, -4, 4, -2) has half cycles of range 3, 4, 8, 9, 8, 6 and one
/// whole cycle of range 4. Here as shares of 10.
#[test]
fn cycles_are_counted_as_in_the_standard() {
    let model = bank(Chemistry::Agm);
    let mut wear = Wear::new(&model);
    for point in [-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0] {
        wear.count(&model.at((point + 4.5) / 10.0), 20.0, 1.0);
    }
    let (cycles, depths) = wear.cycles();
    let want = [(3, 0.5), (4, 1.5), (6, 0.5), (8, 1.0), (9, 0.5)];
    assert!((cycles.iter().sum::<f64>() - 4.0).abs() < 1e-12, "{cycles:?}");
    for (range, count) in want {
        // 0.3 and the like may fall on either side of their class's edge.
        let near: f64 = (range - 1..=range)
            .map(|class| {
                if class == range || !want.iter().any(|(other, _)| *other == class) {
                    cycles[class]
                } else {
                    0.0
                }
            })
            .sum();
        assert!(near >= count - 1e-12, "{range}: {cycles:?}");
    }
    assert!(
        (depths.iter().sum::<f64>() - (0.3 * 0.5 + 0.4 * 1.5 + 0.6 * 0.5 + 0.8 + 0.9 * 0.5)).abs() < 1e-12
    );
}

#[test]
fn wear_counts_cycles_and_days_from_full() {
    for chemistry in Chemistry::ALL {
        let model = bank(*chemistry);
        let wear = daily(&model, 1.0, 0.5, 25.0, 365);
        let ageing = wear.ageing();
        assert!((ageing.full_cycles_per_year - 182.5).abs() < 0.6, "{ageing:?}");
        assert!((ageing.cycles_per_year[4] + ageing.cycles_per_year[5] - 365.0).abs() < 2.0, "{ageing:?}");
        assert!((ageing.mean_soc - 0.75).abs() < 0.01);
        assert!(ageing.longest_days_since_full < 1.0);
        assert!((ageing.times_full_per_year - 365.0).abs() < 2.0);
        let tired = daily(&model, 0.8, 0.3, 25.0, 365);
        assert!((tired.longest_days_since_full() - 365.0).abs() < 1.0);
        assert_eq!(tired.ageing().times_full_per_year, 0.0);
        let (low, high) = ageing.years_range;
        assert!(low < ageing.years && ageing.years < high);
    }
}

/// By hand: AGM at 25 °C, one cycle of 50 % a day: 365/370 of the cycles and 1/8 of the calendar life go in a year: 0.90 years.
#[test]
fn years_follow_the_printed_cycles() {
    let ageing = daily(&bank(Chemistry::Agm), 1.0, 0.5, 25.0, 365).ageing();
    let by_hand = 1.0 / (365.0 / 370.0 + 1.0 / 8.0);
    // The year's last cycle stays open and counts by halves.
    assert!((ageing.years / by_hand - 1.0).abs() < 0.005, "{} {by_hand}", ageing.years);
}

#[test]
fn more_heat_or_depth_never_lengthens_life() {
    for chemistry in Chemistry::ALL {
        let model = bank(*chemistry);
        let ageing = |to: f64, temp: f64| daily(&model, 1.0, to, temp, 120).ageing();
        // Lithium that is cycled deeper from full also stands lower, which its calendar likes: the cycles alone are compared.
        let cycling = |to: f64| ageing(to, 20.0).cycle_loss_first_year;
        let depths = [0.9, 0.8, 0.6, 0.4, 0.2];
        assert!(depths.windows(2).all(|pair| cycling(pair[1]) > cycling(pair[0])), "{chemistry}");
        let years = |to: f64, temp: f64| ageing(to, temp).years;
        let temps = [0.0, 10.0, 20.0, 30.0, 40.0];
        assert!(temps.windows(2).all(|pair| years(0.5, pair[1]) < years(0.5, pair[0])), "{chemistry}");
        assert_eq!(Wear::new(&model).ageing().years, f64::INFINITY);
    }
}
