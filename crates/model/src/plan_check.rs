//! Sense inside a plan: points that name something, channels with a course, walls square to an axis, two axles.
//! Never: judges whether cables fit (see `board`).
//! Start at [`faults`]; [`places`] is the list of what a point may stand for.

use crate::plan_intent::{PlanIntent, PlanPoint};
use crate::{Intent, Name};

/// Points, channels and walls that one plan may have.
const MOST_ITEMS: usize = 1000;
/// Corners of one channel.
const MOST_CORNERS: usize = 200;

impl PlanIntent {
    /// What a point stands for, as a path of intent.toml: `loads.fridge`, `bank`; `None` for freight.
    ///
    /// A word of its own (`board`, `bank`, `engine`, `shore`, `generator`, `inverter`, `charger`, `ac`) counts before a name.
    pub fn stands_for(&self, intent: &Intent, name: &Name, point: &PlanPoint) -> Option<String> {
        let all = places(intent);
        match &point.is {
            Some(path) => all.contains(path).then(|| path.clone()),
            None => all
                .iter()
                .find(|path| path.as_str() == name.as_str())
                .or_else(|| {
                    all.iter().find(|path| path.split_once('.').is_some_and(|(_, id)| id == name.as_str()))
                })
                .cloned(),
        }
    }
}

/// Everything that a point may stand for, as paths of intent.toml.
pub fn places(intent: &Intent) -> Vec<String> {
    let mut all: Vec<String> = ["board", "bank", "engine", "shore", "generator", "inverter", "charger", "ac"]
        .map(str::to_owned)
        .into();
    all.extend(intent.loads.keys().map(|name| format!("loads.{name}")));
    all.extend(intent.panels.keys().map(|name| format!("panels.{name}")));
    all.extend(intent.solar.keys().map(|name| format!("solar.{name}")));
    all.extend(intent.converters.keys().map(|name| format!("converters.{name}")));
    all
}

/// Everything that makes no sense: path, what is wrong, how to mend it.
pub fn faults(intent: &Intent, plan: &PlanIntent) -> Vec<(String, String, String)> {
    let mut faults: Vec<(String, String, String)> = Vec::new();
    let mut say = |path: String, message: String, mend: &str| {
        faults.push((format!("plan.{path}"), message, mend.to_owned()));
    };
    let counts = [
        ("points", plan.points.len()),
        ("channels", plan.channels.len()),
        ("walls", plan.walls.len()),
        ("zones", plan.zones.len()),
    ];
    for (kind, count) in counts {
        if count > MOST_ITEMS {
            say(
                kind.to_owned(),
                format!("{count} entries; the most is {MOST_ITEMS}"),
                "Check that this is the right file",
            );
        }
    }
    let known = places(intent);
    let mut taken: Vec<(String, &Name)> = Vec::new();
    for (name, point) in &plan.points {
        let path = format!("points.{name}");
        if point.x > plan.length || point.y > plan.width {
            say(
                path.clone(),
                format!("`{name}` lies outside the plan of {} by {}", plan.length, plan.width),
                "Count x forwards from the rear end and y to the left from the right-hand side",
            );
        }
        // A point may stand for a load that was taken away since, which must not make the file unreadable: `board` tells it.
        if let Some(stands_for) = plan.stands_for(intent, name, point) {
            let same =
                known.iter().filter(|path| path.split_once('.').is_some_and(|(_, id)| id == name.as_str()));
            if point.is.is_none() && !known.contains(&name.to_string()) && same.clone().count() > 1 {
                let all: Vec<&str> = same.map(String::as_str).collect();
                say(
                    path.clone(),
                    format!("`{name}` may be {}", all.join(" or ")),
                    &format!("Say which: `is = \"{}\"`", all.first().unwrap_or(&"")),
                );
            }
            if let Some((_, other)) = taken.iter().find(|(known, _)| *known == stands_for) {
                say(path, format!("`{name}` and `{other}` both stand for `{stands_for}`"), "Take one away");
            } else {
                taken.push((stands_for, name));
            }
        }
    }
    for (name, channel) in &plan.channels {
        let corners: Vec<[i32; 3]> = channel.points.iter().map(|point| point.millimetres()).collect();
        if !(2..=MOST_CORNERS).contains(&corners.len()) {
            say(
                format!("channels.{name}.points"),
                format!("channel `{name}` has {} points", corners.len()),
                "List from 2 to 200 points in order, each with x, y and z",
            );
        } else if corners.windows(2).any(|pair| pair[0] == pair[1]) {
            say(
                format!("channels.{name}.points"),
                format!("channel `{name}` has the same point twice in a row"),
                "Take one of the two away",
            );
        }
        if channel.width.is_some() != channel.height.is_some() {
            say(
                format!("channels.{name}"),
                format!("channel `{name}` has a width or a height, and not both"),
                "Say both, clear inside; for a round conduit its bore twice",
            );
        }
    }
    for (name, wall) in &plan.walls {
        let (a, b) = (wall.from.millimetres(), wall.to.millimetres());
        let flat = (0..3).filter(|axis| a[*axis] == b[*axis]).count();
        if flat != 1 {
            say(
                format!("walls.{name}"),
                format!("wall `{name}` is no rectangle square to an axis"),
                "Give two opposite corners that share just one of x, y and z",
            );
        }
    }
    if !matches!(plan.axles.len(), 0 | 2) {
        say(
            "axles".to_owned(),
            format!("{} axles; loads follow from two", plan.axles.len()),
            "Name two; axles that stand close together count as one in their middle, the coupling of a trailer as another",
        );
    }
    let mut at: Vec<i32> =
        plan.axles.values().map(|axle| (axle.x.get() * 1000.0).round().clamp(-1e6, 1e6) as i32).collect();
    at.sort_unstable();
    if at.windows(2).any(|pair| pair[1] - pair[0] < 500) {
        say(
            "axles".to_owned(),
            "the two axles stand less than 0.5 m apart".to_owned(),
            "Count both from the rear end of the plan",
        );
    }
    faults
}
