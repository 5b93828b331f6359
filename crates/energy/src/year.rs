//! One year, hour by hour: months, the worst week, how the bank wears.
//! Never: draws weather; a [`Sky`] does.
//! Start at [`year`].

use quantity::{Fraction, Hours};

use crate::outcome::{BankLife, Books, Trace, Year};
use crate::plant::Plant;
use crate::run::{Flow, Watch, run};
use crate::site::HOURS;
use crate::sky::{Scratch, Sky};
use crate::storage::{BankState, Wear};
use crate::weather::Note;

const WEEK: usize = 7 * 24;

/// Keeps every hour, and counts the bank's wear.
struct Full {
    soc: Vec<f64>,
    flows: Vec<Flow>,
    days: Vec<(f64, f64)>,
    wear: Wear,
}

impl Watch for Full {
    fn hour(&mut self, _: usize, flow: &Flow) {
        self.soc.push(flow.soc);
        self.flows.push(*flow);
        self.wear.count(&BankState { soc: flow.soc, lag: 0.0 }, flow.bank_c, 1.0);
    }
    fn day(&mut self, _: usize, low: f64, high: f64, _: f64) {
        self.days.push((low, high));
    }
}

/// The year in a weather already filled in.
pub fn year(plant: &Plant, sky: &Sky, scratch: &Scratch) -> Year {
    let mut full = Full {
        soc: Vec::with_capacity(HOURS),
        flows: Vec::with_capacity(HOURS),
        days: Vec::new(),
        wear: Wear::new(&plant.bank),
    };
    let tally = run(plant, scratch.outside(), &mut full);
    let total = tally.total();
    let ageing = full.wear.ageing();
    let by_use = ageing.cycle_loss_first_year;
    let worn = by_use + ageing.calendar_loss_first_year;
    let mut notes = sky.notes.clone();
    notes.extend(assumed(plant));
    Year {
        weather: sky.weather.clone(),
        months: tally.months,
        lowest: tally.lowest,
        worst_week: worst_week(&full.flows, tally.lowest.1),
        days: full.days,
        longest_unfilled: Hours::new(f64::from(tally.longest_unfilled) * 24.0),
        full_cycles: full.wear.full_cycles(),
        bank_life: BankLife {
            years: ageing.years,
            low: ageing.years_range.0,
            high: ageing.years_range.1,
            from_use: Fraction::new(if worn > 0.0 { by_use / worn } else { 0.0 }),
        },
        share_idle: Fraction::new(share_idle(&total)),
        total,
        notes,
    }
}

/// The typical year of a system.
pub fn typical_year(plant: &Plant, sky: &Sky, seed: u64) -> Year {
    let mut scratch = Scratch::new();
    sky.typical(plant, seed, &mut scratch);
    year(plant, sky, &scratch)
}

/// Share of all that was taken which idle draw took.
fn share_idle(total: &Books) -> f64 {
    let taken = total.served() + total.inverter_loss_wh + total.idle_wh;
    if taken > 0.0 { total.idle_wh / taken } else { 0.0 }
}

/// The week round the hour in which the bank stood lowest; where hours went short, the week with most of them.
fn worst_week(flows: &[Flow], lowest: usize) -> Trace {
    let short = |from: usize| -> f64 { flows[from..from + WEEK].iter().map(|flow| flow.short_w).sum() };
    if flows.len() < WEEK {
        return Trace::default();
    }
    let starts = (0..=flows.len() - WEEK).step_by(24);
    let worst = starts
        .map(|from| (short(from), from))
        .fold((0.0, None), |worst, (wh, from)| if wh > worst.0 + 1e-6 { (wh, Some(from)) } else { worst });
    let middle = (lowest / 24 * 24).saturating_sub(4 * 24).min(flows.len() - WEEK);
    let first_hour = worst.1.unwrap_or(middle);
    let week = &flows[first_hour..first_hour + WEEK];
    let each = |of: &dyn Fn(&Flow) -> f64| week.iter().map(of).collect();
    Trace {
        first_hour,
        soc: each(&|flow| flow.soc),
        sun_w: each(&|flow| flow.sun_w),
        curtailed_w: each(&|flow| flow.curtailed_w),
        engine_w: each(&|flow| flow.engine_w),
        supply_w: each(&|flow| flow.supply_w),
        need_w: each(&|flow| flow.need_w),
        short_w: each(&|flow| flow.short_w),
    }
}

/// What every run takes for granted.
fn assumed(plant: &Plant) -> Vec<Note> {
    let note = |id: &str, message: String| Note { id: id.to_owned(), message, line: 0 };
    let mut notes = vec![note(
        "floor",
        format!(
            "vital loads run until the bank stops by itself; all others stop at {:.0} % and spare ones at {:.0} % state of charge",
            plant.floor * 100.0,
            plant.spare_floor * 100.0
        ),
    )];
    let coldest = plant.bank_c.0;
    let kept_back = plant.bank.kept_back(coldest);
    if kept_back > 0.05 {
        notes.push(note(
            "kept-back",
            format!(
                "at {coldest:.0} °C, the coldest of its place, the bank keeps back {:.0} % of its charge, for vital loads too; the less the warmer",
                kept_back * 100.0
            ),
        ));
    }
    if plant.there.iter().any(|there| there[0] > 0.0) {
        notes.push(note(
            "driving",
            "the engine runs in a fixed pattern that gives the mean driving time".to_owned(),
        ));
    }
    notes
}
