//! The chance of running out, month by month, with how sure it is.
//! Never: shows a month that nobody studied as a month without trouble.
//! Start at [`running_out`].

use energy::Years;
use energy::site::MONTH_NAMES;

use super::panel::{Panel, nice_ticks};
use super::pen::{At, Fill, INK, LEFT, Pen, RIGHT, SMALL, number};
use super::percent;

/// Chance of running out in each month, with the 95 % interval as whiskers.
pub fn running_out(years: &Years) -> String {
    let all = &years.running_out;
    let sure = format!("95 % sure: {} to {}", percent(all.low.get()), percent(all.high.get()));
    let about = if all.happened == 0 {
        format!("Of {} years of weather none ran out ({sure}).", all.of)
    } else {
        format!(
            "Of {} years of weather {} ran out at least once: {} ({sure}).",
            all.of, all.happened, all.share
        )
    };
    let title = "Chance of running out, by month";
    let shares = years.months.iter().map(|month| {
        let chance = &month.running_out;
        let list = [chance.share, chance.low, chance.high].map(|part| part.get() * 100.0);
        (chance.of > 0 && list.iter().all(|part| part.is_finite())).then_some(list)
    });
    let shares: Vec<Option<[f64; 3]>> = shares.collect();
    if shares.iter().all(Option::is_none) {
        let mut pen = Pen::new("chance", title, "No years were studied.");
        pen.keep_free([0.0; 4]);
        return pen.nothing("No years of weather were studied, so there is no chance to show.");
    }
    let mut pen = Pen::new("chance", title, &about);
    let top = pen.note(31.0, &about);
    let high = shares.iter().flatten().map(|list| list[2]).fold(0.0, f64::max);
    pen.text(8.0, top + 8.0, At::Start, "% of years; whiskers: 95 % sure");
    // Room for a number above a full bar.
    let place = [top + 27.0, top + 187.0];
    let panel = Panel::new(&mut pen, place, &nice_ticks(0.0, high, 5), "");
    let slot = (RIGHT - LEFT) / 12.0;
    for (at, (name, share)) in MONTH_NAMES.iter().zip(&shares).enumerate() {
        let x = LEFT + (at as f64 + 0.5) * slot;
        match share {
            Some([share, low, high]) => {
                let y = panel.y(*share);
                pen.rect([x - 7.0, y, 14.0, panel.bottom - y], Fill::Middle, "chance");
                let (a, b) = (panel.y(*high), panel.y(*low));
                let (l, m) = (number(x - 3.0), number(x));
                let d = format!("M{l} {0}h6M{m} {0}V{1}M{l} {1}h6", number(a), number(b));
                pen.path(&d, &format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.1\""), "interval");
                pen.beside(&[(x, a - 3.0, At::Middle)], &brief(*share), SMALL);
            }
            None => {
                pen.beside(&[(x, panel.bottom - 4.0, At::Middle)], "?", SMALL);
            }
        }
        pen.text(x, panel.bottom + 13.0, At::Middle, name);
    }
    pen.finish()
}

/// Percent in a few digits; a small chance is not shown as none.
fn brief(percent: f64) -> String {
    match percent {
        some if some > 0.0 && some < 0.05 => "<0.1".to_owned(),
        some if some > 0.0 && some < 0.95 => format!("{some:.1}"),
        other => format!("{other:.0}"),
    }
}
