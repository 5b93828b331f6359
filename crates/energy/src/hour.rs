//! One hour in full: who serves it, what the bank gives or takes, what is given up or goes short.
//! Never: goes on to the next hour; see `run`.
//! Start at [`pass`].

use crate::day::Hourly;
use crate::needs::{AC, CLASSES, NeedsOfDay};
use crate::outcome::Month;
use crate::plant::{EnginePlant, Plant};
use crate::run::Flow;
use crate::storage::{BankDay, Moved, Store, less, more};

/// What holds for a whole run.
pub(crate) struct Fixed<'p> {
    pub plant: &'p Plant,
    /// The floors, as energy in store [Wh].
    pub floor_wh: f64,
    pub spare_floor_wh: f64,
    generator_start_wh: f64,
    generator_stop_wh: f64,
    has_generator: bool,
    /// What alternating current takes off the busbars for each watt of it.
    pub through: f64,
    /// Idle draw of the inverter by hour of the day [W], out of use and in use; and with all that stands by.
    pub inverter_w: [Hourly; 2],
    pub idle_w: [Hourly; 2],
    /// What is lost in the controllers for each watt of sun on the busbars.
    pub controller_loss: f64,
}

impl<'p> Fixed<'p> {
    pub fn of(plant: &'p Plant) -> Self {
        let wh_at = |soc: f64| plant.bank.wh_at(soc.clamp(0.0, 1.0));
        let idle_w = plant.inverter.as_ref().map_or(0.0, |inverter| inverter.idle_w);
        let inverter_w = [[0.0; 24], plant.needs.inverter_on.map(|share| share * idle_w)];
        Self {
            plant,
            floor_wh: wh_at(plant.floor),
            spare_floor_wh: wh_at(plant.spare_floor),
            generator_start_wh: wh_at(plant.supply.generator_start),
            generator_stop_wh: wh_at(plant.supply.generator_stop),
            has_generator: plant.supply.generator_w > 0.0,
            through: 1.0 + plant.inverter_share,
            idle_w: inverter_w.map(|of_day| of_day.map(|watts| watts + plant.standing_w)),
            inverter_w,
            controller_loss: 1.0 / plant.controllers - 1.0,
        }
    }
}

impl Fixed<'_> {
    /// From what energy in store [Wh] the generator is off and stays off: at once without one, never while it runs.
    pub fn quiet_from_wh(&self, today: &Today<'_>) -> f64 {
        match (self.has_generator, today.generator) {
            (false, _) => f64::NEG_INFINITY,
            (true, false) => self.generator_start_wh,
            (true, true) => f64::INFINITY,
        }
    }

    /// What spare loads give up of what is missing, and the direct and alternating current of it, in proportion [W].
    pub fn spared(&self, today: &Today<'_>, of_day: usize, air_c: f64, missing: f64) -> (f64, (f64, f64)) {
        let (dc, ac) = today.needs.spare_at(of_day, air_c);
        let spare = dc + ac * self.through;
        if spare <= 0.0 {
            return (0.0, (0.0, 0.0));
        }
        let given_up = less(spare, missing);
        let share = given_up / spare;
        (given_up, (dc * share, ac * share))
    }
}

/// What holds for a day.
pub(crate) struct Today<'p> {
    pub day: usize,
    pub bank: BankDay,
    pub bank_c: f64,
    pub heater_w: f64,
    pub vary: f64,
    pub needs: NeedsOfDay<'p>,
    pub inverter_w: &'p Hourly,
    pub idle_w: &'p Hourly,
    pub generator_left: f64,
    /// Whether the generator runs.
    pub generator: bool,
}

impl<'p> Today<'p> {
    /// As a day like any other at a temperature of the bank [°C]; [`Today::turn`] makes it one of the calendar.
    pub fn new(fixed: &'p Fixed<'p>, bank_c: f64, generator: bool) -> Self {
        let plant = fixed.plant;
        Self {
            day: 0,
            bank: plant.bank.day(bank_c),
            bank_c,
            heater_w: 0.0,
            vary: 1.0,
            needs: plant.needs.of_day(0, 1.0),
            inverter_w: &fixed.inverter_w[0],
            idle_w: &fixed.idle_w[0],
            generator_left: 0.0,
            generator,
        }
    }

    /// Turns to a day. Field by field: a new value would be copied from place to place.
    #[inline]
    pub fn turn(&mut self, fixed: &'p Fixed<'p>, day: usize, bank_c: f64, vary: f64) {
        let plant = fixed.plant;
        let used = usize::from(plant.needs.used[day]);
        self.day = day;
        self.bank = plant.bank.day(bank_c);
        self.bank_c = bank_c;
        self.heater_w = plant.bank.heater_w(bank_c);
        self.vary = vary;
        self.needs = plant.needs.of_day(day, vary);
        self.inverter_w = &fixed.inverter_w[used];
        self.idle_w = &fixed.idle_w[used];
        self.generator_left = plant.supply.generator_hours;
    }
}

/// What comes to an hour from outside.
pub(crate) struct Around {
    pub of_day: usize,
    pub sun_w: f64,
    pub air_c: f64,
    /// Need of direct and of alternating current [W].
    pub dc: f64,
    pub ac: f64,
    /// Shares of the hour with the engine running and with shore power.
    pub there: [f64; 2],
}

/// One hour. The change in store is left to the caller to book, and the state of charge to tell.
#[inline(never)] // keeps the loop over quiet hours small
pub(crate) fn pass(
    fixed: &Fixed<'_>,
    around: &Around,
    store: &mut Store,
    today: &mut Today<'_>,
    month: &mut Month,
    given_wh: &mut f64,
) -> Flow {
    let plant = fixed.plant;
    let of_day = around.of_day;
    let sun_w = around.sun_w;
    let [driving, plugged] = around.there;

    // Shore or generator: alternating-current loads first, what is left through the charger.
    let supply = supplied(fixed, of_day, plugged, store, today);
    let ac_need = around.ac;
    let ac_direct = if supply.limit_w > 0.0 { less(ac_need * supply.share, supply.limit_w) } else { 0.0 };
    let charger_w = if supply.limit_w > 0.0 {
        let by_input = (supply.limit_w - ac_direct) * plant.supply.efficiency;
        less(by_input, plant.supply.amps * charging_volts(plant, store, today.bank_c) * supply.share)
    } else {
        0.0
    };

    // What the busbars must carry; alternating current with the inverter's loss on it.
    let through = fixed.through;
    let ac_left = if ac_need > 0.0 { 1.0 - ac_direct / ac_need } else { 0.0 };
    let idle_w = plant.standing_w + today.inverter_w[of_day] * (1.0 - supply.share);
    let heater_w = today.heater_w;
    let fixed_w = idle_w + heater_w;
    let asked = fixed_w + around.dc + ac_need * ac_left * through;

    let (engine_w, engine_in) = engine(plant, driving, store, today.bank_c);
    let there = sun_w + engine_w + charger_w;
    let mut gone = Gone {
        dc: around.dc,
        ac: ac_need * ac_left,
        inverter: ac_need * ac_left * plant.inverter_share,
        fixed: 1.0,
    };
    let (mut given_up, mut short) = (0.0, 0.0);
    // What the bank took, below 0 what it gave.
    let (moved, taken) = if there >= asked {
        let moved = plant.bank.take(store, there - asked, &today.bank);
        (moved, moved.terminal_wh)
    } else {
        let missing = asked - there;
        let freely = if store.wh >= fixed.spare_floor_wh {
            {
                let down_to_wh = more(fixed.floor_wh, today.bank.free_down_to_wh());
                plant.bank.give_freely(store, missing, down_to_wh, &today.bank)
            }
        } else {
            None
        };
        let moved = if let Some(loss_wh) = freely {
            Moved { terminal_wh: missing, loss_wh }
        } else {
            let need = plant.needs.at(today.day, of_day, around.air_c, today.vary);
            let moved;
            (moved, given_up, short) =
                give_short(fixed, &need, ac_left, fixed_w, there, missing, store, today);
            gone = Gone::of(&need, ac_left, through, fixed_w, given_up, short);
            moved
        };
        *given_wh += moved.terminal_wh;
        (moved, -moved.terminal_wh)
    };
    let served_bars = asked - given_up - short;

    // Who carried it, in the order of the set-points. The last source that is there takes the remainder, so that nothing is
    // lost to rounding; where there is none, the sun does.
    let carried = served_bars + taken;
    let can = [sun_w, engine_w, charger_w];
    let mut used = [0.0; 3];
    let mut left = carried;
    let mut last = 0;
    for source in plant.order {
        if can[source] > 0.0 {
            used[source] = if left < can[source] { more(left, 0.0) } else { can[source] };
            left -= used[source];
            last = source;
        }
    }
    used[last] += left;
    let [sun_used, engine_used, charger_used] = used;

    let books = &mut month.books;
    books.loads_dc_wh += gone.dc;
    books.loads_ac_wh += gone.ac + ac_direct;
    books.inverter_loss_wh += gone.inverter;
    books.idle_wh += idle_w * gone.fixed;
    books.heater_wh += heater_w * gone.fixed;
    books.given_up_wh += given_up;
    books.short_wh += short;
    let controller_loss = sun_used * fixed.controller_loss;
    books.sun_wh += sun_used + controller_loss;
    books.controller_loss_wh += controller_loss;
    books.curtailed_wh += more(sun_w - sun_used, 0.0);
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

    Flow {
        soc: 0.0,
        bank_c: today.bank_c,
        sun_w: sun_used,
        curtailed_w: more(sun_w - sun_used, 0.0),
        engine_w: engine_used,
        supply_w: charger_used + ac_direct,
        need_w: served_bars + ac_direct,
        short_w: short,
    }
}

/// What the bank gives where a floor or one of its limits may be near: what moved, what is given up and what goes short [Wh].
#[allow(clippy::too_many_arguments)] // one step of `pass`, over its own values
fn give_short(
    fixed: &Fixed<'_>,
    need: &[f64; CLASSES],
    ac_left: f64,
    fixed_w: f64,
    there: f64,
    missing: f64,
    store: &mut Store,
    today: &Today<'_>,
) -> (Moved, f64, f64) {
    let on_bars = |at: usize| need[at] + need[AC + at] * ac_left * fixed.through;
    let (vital, spare) = (fixed_w + on_bars(0), on_bars(2));
    let (mut missing, mut given_up, mut short) = (missing, 0.0, 0.0);
    if store.wh < fixed.spare_floor_wh {
        given_up = less(spare, missing);
        missing -= given_up;
    }
    // Down to the floor for all, below it for what is vital.
    let above_floor = more(store.wh - fixed.floor_wh, 0.0);
    let most = more(vital - there, 0.0) + above_floor;
    if missing > most {
        short = missing - most;
        missing = most;
    }
    let moved = fixed.plant.bank.give(store, missing, &today.bank);
    // What the bank refused goes short too; less than its solver's tolerance is served all the same.
    let refused = missing - moved.terminal_wh;
    if refused > missing * 1e-8 {
        short += refused;
    }
    (moved, given_up, short)
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
            let cut = less(missing, bars);
            missing -= cut;
            let share = if bars > 0.0 { 1.0 - cut / bars } else { 1.0 };
            gone.dc += dc * share;
            gone.ac += ac * share;
            gone.inverter += ac * share * (through - 1.0);
        }
        if fixed_w > 0.0 {
            gone.fixed = 1.0 - less(missing / fixed_w, 1.0);
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
fn supplied(
    fixed: &Fixed<'_>,
    of_day: usize,
    plugged: f64,
    store: &Store,
    today: &mut Today<'_>,
) -> Supplied {
    let supply = &fixed.plant.supply;
    if plugged > 0.0 && supply.shore_w > 0.0 {
        return Supplied { share: plugged, limit_w: supply.shore_w * plugged, is_generator: false };
    }
    let off = Supplied { share: 0.0, limit_w: 0.0, is_generator: false };
    if supply.generator_w <= 0.0 {
        return off;
    }
    if store.wh >= fixed.generator_stop_wh {
        today.generator = false;
    } else if store.wh < fixed.generator_start_wh {
        today.generator = true;
    }
    let share = supply.generator_may[of_day].min(today.generator_left).max(0.0);
    if !today.generator || share <= 0.0 {
        return off;
    }
    today.generator_left -= share;
    Supplied { share, limit_w: supply.generator_w * share, is_generator: true }
}

/// Voltage at the bank while a charger works: at rest, and a twentieth more for the charging current. Common practice, no source.
fn charging_volts(plant: &Plant, store: &Store, bank_c: f64) -> f64 {
    plant.bank.volts_at(store.wh, bank_c) * 1.05
}

/// What the engine could put on the busbars [W], and what it takes from the alternator for each watt of it.
#[inline]
fn engine(plant: &Plant, driving: f64, store: &Store, bank_c: f64) -> (f64, f64) {
    if driving <= 0.0 {
        return (0.0, 1.0);
    }
    match plant.engine {
        Some(EnginePlant::DcDc { amps, efficiency }) => {
            (amps * charging_volts(plant, store, bank_c) * driving, 1.0 / efficiency)
        }
        Some(EnginePlant::Relay { volts, ohms, bank_ohms, most_amps }) => {
            let rest = plant.bank.volts_at(store.wh, bank_c);
            let amps = ((volts - rest) / ohms.max(1e-6)).clamp(0.0, most_amps);
            let terminal = rest + amps * bank_ohms;
            (amps * terminal * driving, (volts / terminal.max(1.0)).max(1.0))
        }
        None => (0.0, 1.0),
    }
}
