//! The hour loop: what each hour asks, who serves it, what the bank gives or takes, what is left over or goes short.
//! Never: makes weather or loads; allocates; rounds. The books of every run close.
//! Start at [`run`].
//!
//! Order of an hour: sun, engine, and shore or generator carry the loads, the one set to the highest voltage first; what is over goes into the bank as far as it takes it,
//! and sun that is then still over is curtailed. What is missing comes out of the bank. Spare loads are given up below the spare
//! floor, usual ones at the floor; vital ones run until the bank itself stops.

use crate::needs::{AC, CLASSES};
use crate::outcome::{Books, Month};
use crate::plant::{EnginePlant, Plant};
use crate::site::{DAYS, HOURS, MONTH_STARTS, MONTHS};
use crate::storage::{BankState, Conditions};

/// What comes from outside, by the hour; each list [`HOURS`] long.
#[derive(Clone, Copy, Debug)]
pub struct Outside<'h> {
    /// What the controllers could put on the busbars [W].
    pub sun_w: &'h [f64],
    /// Air temperature [°C].
    pub air_c: &'h [f64],
    /// Factor of each day's use, [`DAYS`] long; 1 for a day like any other.
    pub vary: &'h [f64],
}

/// One hour's flows [W], at the busbars.
#[derive(Clone, Copy, Debug, Default)]
pub struct Flow {
    /// State of charge at its end.
    pub soc: f64,
    /// Temperature of the bank [°C].
    pub bank_c: f64,
    /// Sun used.
    pub sun_w: f64,
    /// Sun that nobody could take.
    pub curtailed_w: f64,
    /// Engine.
    pub engine_w: f64,
    /// Shore or generator, as far as it came through the charger or carried AC loads.
    pub supply_w: f64,
    /// What was taken off the busbars, and by AC loads straight from the supply.
    pub need_w: f64,
    /// Asked and not served.
    pub short_w: f64,
}

/// Looks on while the hours pass.
pub trait Watch {
    /// An hour has passed.
    fn hour(&mut self, hour: usize, flow: &Flow);
    /// A day has passed: its lowest and highest state of charge, and mean bank temperature [°C].
    fn day(&mut self, day: usize, low: f64, high: f64, bank_c: f64);
}

/// Looks at nothing.
pub struct Blind;

impl Watch for Blind {
    #[inline]
    fn hour(&mut self, _: usize, _: &Flow) {}
    #[inline]
    fn day(&mut self, _: usize, _: f64, _: f64, _: f64) {}
}

/// What a run tells.
#[derive(Clone, Debug, PartialEq)]
pub struct Tally {
    /// By month; months that the run did not touch stay blank.
    pub months: [Month; MONTHS],
    /// Lowest state of charge and the hour of it.
    pub lowest: (f64, usize),
    /// Longest stretch of hours short on end.
    pub longest_short: u32,
    /// Most days between two on which the bank became full.
    pub longest_unfilled: u32,
    /// Energy that the bank gave [Wh].
    pub given_wh: f64,
}

impl Tally {
    /// All months together.
    pub fn total(&self) -> Books {
        let mut total = Books::default();
        for month in &self.months {
            total.add(&month.books);
        }
        total
    }
    /// Hours short in all.
    pub fn short_hours(&self) -> u32 {
        self.months.iter().map(|month| month.short_hours).sum()
    }
}

/// What goes on from hour to hour.
#[derive(Clone, Copy, Debug)]
pub struct Going {
    /// The bank.
    pub bank: BankState,
    /// Its temperature [°C].
    pub bank_c: f64,
    /// Whether the generator runs.
    generator: bool,
}

impl Going {
    /// A bank at rest at a state of charge and temperature.
    pub fn at(plant: &Plant, soc: f64, air_c: f64) -> Self {
        let bank_c = air_c.clamp(plant.bank_c.0, plant.bank_c.1);
        let bank = plant.bank.at(soc);
        Self { bank, bank_c, generator: false }
    }
}

/// Days before 1 January that are run first, so that the year begins with a bank that has lived in this weather.
const WARM_UP_DAYS: usize = 28;
/// How far a bank comes to the mean temperature of its place within a day: it takes half a day for two thirds of the way.
/// Common practice, no source.
const BANK_DAY: f64 = 0.86;
/// State of charge that counts as full.
const FULL: f64 = 0.98;
/// Less than this is rounding, not a shortage [W].
const SHORT_W: f64 = 1e-3;

/// A whole year, begun with the bank as the end of December leaves it.
pub fn run(plant: &Plant, outside: Outside<'_>, watch: &mut impl Watch) -> Tally {
    let first = HOURS - WARM_UP_DAYS * 24;
    let air = outside.air_c.get(first).copied().unwrap_or(15.0);
    let mut going = Going::at(plant, 1.0, air);
    stretch(plant, outside, first..HOURS, &mut going, &mut Blind);
    stretch(plant, outside, 0..HOURS, &mut going, watch)
}

/// Some hours on end of one year.
///
/// Lists shorter than the hours end the run early.
pub fn stretch(
    plant: &Plant,
    outside: Outside<'_>,
    hours: std::ops::Range<usize>,
    going: &mut Going,
    watch: &mut impl Watch,
) -> Tally {
    let mut tally = Tally {
        months: [Month { lowest: 1.0, ..Month::default() }; MONTHS],
        lowest: (going.bank.soc, hours.start),
        longest_short: 0,
        longest_unfilled: 0,
        given_wh: 0.0,
    };
    let last = hours.end.min(outside.sun_w.len()).min(outside.air_c.len()).min(HOURS);
    let (mut short_on_end, mut unfilled) = (0_u32, 0_u32);
    let mut day = hours.start / 24;
    let mut month = MONTH_STARTS[1..MONTHS].iter().filter(|start| hours.start >= **start).count();
    while day < DAYS && hours.start.max(day * 24) < last {
        while month + 1 < MONTHS && day * 24 >= MONTH_STARTS[month + 1] {
            month += 1;
        }
        let (start, end) = (hours.start.max(day * 24), (day * 24 + 24).min(last));
        let passed = (end - start) as f64;
        let mean_c = outside.air_c[start..end].iter().sum::<f64>() / passed;
        going.bank_c =
            (going.bank_c + (mean_c - going.bank_c) * taken_on(passed)).clamp(plant.bank_c.0, plant.bank_c.1);
        let mut today = Today {
            day,
            conditions: plant.bank.conditions(going.bank_c, 1.0),
            heater_w: plant.bank.heater_w(going.bank_c),
            vary: outside.vary.get(day).copied().unwrap_or(1.0),
            generator_left: plant.supply.generator_hours,
            low: going.bank.soc,
            high: going.bank.soc,
        };
        let entry = &mut tally.months[month];
        entry.used_days += u32::from(plant.needs.used[day]);
        for hour in start..end {
            let flow = pass(
                plant,
                hour,
                outside.sun_w[hour],
                outside.air_c[hour],
                going,
                &mut today,
                entry,
                &mut tally.given_wh,
            );
            if flow.soc < tally.lowest.0 {
                tally.lowest = (flow.soc, hour);
            }
            if flow.short_w > SHORT_W {
                entry.short_hours += 1;
                short_on_end += 1;
                tally.longest_short = tally.longest_short.max(short_on_end);
            } else {
                short_on_end = 0;
            }
            watch.hour(hour, &flow);
        }
        entry.books.bank_loss_wh += rest(plant, going, passed, &mut entry.books.stored_wh);
        entry.lowest = entry.lowest.min(today.low);
        if today.high >= FULL {
            entry.full_days += 1;
            unfilled = 0;
        } else {
            unfilled += 1;
            tally.longest_unfilled = tally.longest_unfilled.max(unfilled);
        }
        watch.day(day, today.low, today.high, going.bank_c);
        day += 1;
    }
    tally
}

/// Share of the way to the air's temperature that the bank goes in some hours of a day.
fn taken_on(hours: f64) -> f64 {
    if hours >= 24.0 { BANK_DAY } else { 1.0 - quantity::math::powf(1.0 - BANK_DAY, hours / 24.0) }
}

/// Self-discharge of a day.
fn rest(plant: &Plant, going: &mut Going, hours: f64, stored_wh: &mut f64) -> f64 {
    let lost = plant.bank.rest(&mut going.bank, going.bank_c, hours);
    *stored_wh -= lost;
    lost
}

/// What holds for a day.
struct Today {
    day: usize,
    conditions: Conditions,
    heater_w: f64,
    vary: f64,
    generator_left: f64,
    low: f64,
    high: f64,
}

/// One hour.
#[allow(clippy::too_many_arguments)] // the loop's own state, passed flat so that it stays in registers
#[inline]
fn pass(
    plant: &Plant,
    hour: usize,
    sun_w: f64,
    air_c: f64,
    going: &mut Going,
    today: &mut Today,
    month: &mut Month,
    given_wh: &mut f64,
) -> Flow {
    let day = today.day;
    let of_day = hour - day * 24;
    let cabin_c = air_c.clamp(plant.cabin_c.0, plant.cabin_c.1);
    let need = plant.needs.at(day, of_day, cabin_c, air_c, today.vary);
    let [driving, plugged] = plant.there[hour].map(f64::from);

    // Shore or generator: alternating-current loads first, what is left through the charger.
    let supply = supplied(plant, of_day, plugged, going, today);
    let ac_need = need[AC] + need[AC + 1] + need[AC + 2];
    let ac_direct = if supply.limit_w > 0.0 { (ac_need * supply.share).min(supply.limit_w) } else { 0.0 };
    let charger_w = if supply.limit_w > 0.0 {
        let by_input = (supply.limit_w - ac_direct) * plant.supply.efficiency;
        by_input.min(plant.supply.amps * charging_volts(plant, going) * supply.share)
    } else {
        0.0
    };

    // What the busbars must carry, by importance; alternating current with the inverter's loss on it.
    let through = 1.0 + plant.inverter_share;
    let ac_left = if ac_need > 0.0 { 1.0 - ac_direct / ac_need } else { 0.0 };
    let on_bars = |at: usize| need[at] + need[AC + at] * ac_left * through;
    let is_used = plant.needs.used[day];
    let inverter_w = match &plant.inverter {
        Some(inverter) if is_used => inverter.idle_w * plant.needs.inverter_on[of_day] * (1.0 - supply.share),
        _ => 0.0,
    };
    let idle_w = plant.standing_w + inverter_w;
    let heater_w = today.heater_w;
    let fixed_w = idle_w + heater_w;
    let (vital, usual, spare) = (fixed_w + on_bars(0), on_bars(1), on_bars(2));
    let asked = vital + usual + spare;

    let (engine_w, engine_in) = engine(plant, driving, going);
    let there = sun_w + engine_w + charger_w;
    let mut served_bars = asked;
    let mut given_up = 0.0;
    let mut short = 0.0;
    let moved = if there >= asked {
        plant.bank.step_in(&mut going.bank, there - asked, &today.conditions)
    } else {
        let mut missing = asked - there;
        if going.bank.soc < plant.spare_floor {
            given_up = spare.min(missing);
            missing -= given_up;
        }
        // Down to the floor for all, below it for what is vital.
        let above_floor = (going.bank.soc - plant.floor).max(0.0) * plant.bank.capacity_wh();
        let most = (vital - there).max(0.0) + above_floor;
        if missing > most {
            short = missing - most;
            missing = most;
        }
        let moved = plant.bank.step_in(&mut going.bank, -missing, &today.conditions);
        // What the bank refused goes short too; less than its solver's tolerance is served all the same.
        let refused = missing + moved.terminal_wh;
        if refused > missing * 1e-8 {
            short += refused;
        }
        served_bars = asked - given_up - short;
        *given_wh -= moved.terminal_wh;
        moved
    };

    // Who carried it, in the order of the set-points. The last source that is there takes the remainder, so that nothing is
    // lost to rounding; where there is none, the sun does.
    let carried = served_bars + moved.terminal_wh;
    let can = [sun_w, engine_w, charger_w];
    let mut used = [0.0; 3];
    let mut left = carried;
    let mut last = 0;
    for source in plant.order {
        if can[source] > 0.0 {
            used[source] = if left < can[source] { left.max(0.0) } else { can[source] };
            left -= used[source];
            last = source;
        }
    }
    used[last] += left;
    let [sun_used, engine_used, charger_used] = used;

    let books = &mut month.books;
    let gone = Gone::of(&need, ac_left, through, fixed_w, given_up, short);
    books.loads_dc_wh += gone.dc;
    books.loads_ac_wh += gone.ac + ac_direct;
    books.inverter_loss_wh += gone.inverter;
    books.idle_wh += idle_w * gone.fixed;
    books.heater_wh += heater_w * gone.fixed;
    books.given_up_wh += given_up;
    books.short_wh += short;
    let controller_loss = sun_used * (1.0 / plant.controllers - 1.0);
    books.sun_wh += sun_used + controller_loss;
    books.controller_loss_wh += controller_loss;
    books.curtailed_wh += (sun_w - sun_used).max(0.0);
    let engine_total = engine_used * engine_in;
    books.engine_wh += engine_total;
    books.engine_loss_wh += engine_total - engine_used;
    let charger_loss = charger_used * (1.0 / plant.supply.efficiency - 1.0);
    let from_supply = charger_used + charger_loss + ac_direct;
    books.charger_loss_wh += charger_loss;
    if supply.is_generator {
        books.generator_wh += from_supply;
        month.generator_hours += supply.share;
    } else {
        books.shore_wh += from_supply;
    }
    books.bank_loss_wh += moved.loss_wh;
    books.stored_wh += moved.stored_wh;

    let soc = going.bank.soc;
    today.low = today.low.min(soc);
    today.high = today.high.max(soc);
    Flow {
        soc,
        bank_c: going.bank_c,
        sun_w: sun_used,
        curtailed_w: (sun_w - sun_used).max(0.0),
        engine_w: engine_used,
        supply_w: charger_used + ac_direct,
        need_w: served_bars + ac_direct,
        short_w: short,
    }
}

/// What was really served, after giving up and shortage.
struct Gone {
    dc: f64,
    ac: f64,
    inverter: f64,
    /// Share of idle draw and heater that still ran.
    fixed: f64,
}

impl Gone {
    /// Spare loads give way first, then usual, then vital, then idle draw; direct and alternating current of one
    /// importance in proportion.
    #[inline]
    fn of(
        need: &[f64; CLASSES],
        ac_left: f64,
        through: f64,
        fixed_w: f64,
        given_up: f64,
        short: f64,
    ) -> Self {
        let mut missing = given_up + short;
        let mut gone = Self { dc: 0.0, ac: 0.0, inverter: 0.0, fixed: 1.0 };
        if missing == 0.0 {
            gone.dc = need[0] + need[1] + need[2];
            gone.ac = (need[AC] + need[AC + 1] + need[AC + 2]) * ac_left;
            gone.inverter = gone.ac * (through - 1.0);
            return gone;
        }
        for at in (0..AC).rev() {
            let (dc, ac) = (need[at], need[AC + at] * ac_left);
            let bars = dc + ac * through;
            let cut = missing.min(bars);
            missing -= cut;
            let share = if bars > 0.0 { 1.0 - cut / bars } else { 1.0 };
            gone.dc += dc * share;
            gone.ac += ac * share;
            gone.inverter += ac * share * (through - 1.0);
        }
        if fixed_w > 0.0 {
            gone.fixed = 1.0 - (missing / fixed_w).min(1.0);
        }
        gone
    }
}

/// Alternating current from outside in an hour.
struct Supplied {
    /// Share of the hour.
    share: f64,
    /// Energy that it can give in the hour [Wh].
    limit_w: f64,
    is_generator: bool,
}

#[inline]
fn supplied(plant: &Plant, of_day: usize, plugged: f64, going: &mut Going, today: &mut Today) -> Supplied {
    let supply = &plant.supply;
    if plugged > 0.0 && supply.shore_w > 0.0 {
        return Supplied { share: plugged, limit_w: supply.shore_w * plugged, is_generator: false };
    }
    let off = Supplied { share: 0.0, limit_w: 0.0, is_generator: false };
    if supply.generator_w <= 0.0 {
        return off;
    }
    let soc = going.bank.soc;
    if soc >= supply.generator_stop {
        going.generator = false;
    } else if soc < supply.generator_start {
        going.generator = true;
    }
    let share = supply.generator_may[of_day].min(today.generator_left).max(0.0);
    if !going.generator || share <= 0.0 {
        return off;
    }
    today.generator_left -= share;
    Supplied { share, limit_w: supply.generator_w * share, is_generator: true }
}

/// Voltage at the bank while a charger works: at rest, and a twentieth more for the charging current. Common practice, no source.
fn charging_volts(plant: &Plant, going: &Going) -> f64 {
    plant.bank.open_voltage(going.bank.soc, going.bank_c) * 1.05
}

/// What the engine could put on the busbars [W], and what it takes from the alternator for each watt of it.
#[inline]
fn engine(plant: &Plant, driving: f64, going: &Going) -> (f64, f64) {
    if driving <= 0.0 {
        return (0.0, 1.0);
    }
    match plant.engine {
        Some(EnginePlant::DcDc { amps, efficiency }) => {
            (amps * charging_volts(plant, going) * driving, 1.0 / efficiency)
        }
        Some(EnginePlant::Relay { volts, ohms, bank_ohms, most_amps }) => {
            let rest = plant.bank.open_voltage(going.bank.soc, going.bank_c);
            let amps = ((volts - rest) / ohms.max(1e-6)).clamp(0.0, most_amps);
            let terminal = rest + amps * bank_ohms;
            (amps * terminal * driving, (volts / terminal.max(1.0)).max(1.0))
        }
        None => (0.0, 1.0),
    }
}
