//! What a part of the library says of itself where the person says nothing.
//! Never: makes a value up.
//! Start at [`of_part`].

use model::Name;
use model::parts::TypicalLoad;

use super::written;
use crate::Stand;

/// Value and reason of a key that a part answers: a load's, the bank's, an array's.
pub fn of_part(stand: &Stand, path: &[String], key: &str) -> Option<(String, String)> {
    let intent = &stand.project.intent;
    let library = &stand.project.library;
    match path {
        [table, name, _] if table == "loads" => {
            let load = intent.loads.get(&Name::new(name).ok()?)?;
            let part = library.load.get(load.part.as_ref()?)?;
            // Power written takes the part's start power out, and hours written its runs.
            if key == "start_power" && load.power.is_some()
                || matches!(key, "runs" | "run_time") && load.hours.is_some()
            {
                return None;
            }
            Some((of_load(part, key)?, format!("usual for such a thing: {}", part.title)))
        }
        [table, _] if table == "bank" => {
            let bank = stand.system.bank.as_ref()?;
            let value = match key {
                "chemistry" => bank.chemistry.to_string(),
                "series" => bank.series.to_string(),
                "parallel" => bank.parallel.to_string(),
                _ => return None,
            };
            Some((value, "follows from the battery".to_owned()))
        }
        _ => None,
    }
}

fn of_load(part: &TypicalLoad, key: &str) -> Option<String> {
    match key {
        "title" => Some(part.title.clone()),
        "supply" => Some(part.supply.to_string()),
        "power" => Some(written(&part.power)),
        "power_factor" => part.power_factor.as_ref().map(written),
        "start_power" => part.start_power.as_ref().map(written),
        "standby" => part.standby.as_ref().map(written),
        "duty" => part.duty.as_ref().map(written),
        "hours" => part.hours.as_ref().map(written),
        "runs" => part.runs.as_ref().map(written),
        "run_time" => part.run_time.as_ref().map(written),
        "from" => part.from.map(|time| time.to_string()),
        "until" => part.until.map(|time| time.to_string()),
        "follows" => part.follows.map(|follows| follows.to_string()),
        "nature" => Some(part.nature.to_string()),
        "lowest_start" => part.lowest_start.as_ref().map(written),
        "critical" => part.critical.map(|is| is.to_string()),
        "continuous" => part.continuous.map(|is| is.to_string()),
        "count" => Some("1".to_owned()),
        "season" => Some("all-year".to_owned()),
        _ => None,
    }
}

/// The kind of part that a key names.
pub fn kind_of_part(path: &[String]) -> Option<&'static str> {
    let table = path.first().map_or("", String::as_str);
    let last = path.last().map_or("", String::as_str);
    Some(match (table, last) {
        ("loads", "part") => "load",
        ("bank", "part") => "battery",
        ("solar", "module") => "module",
        ("solar", "controller") => "controller",
        ("engine", "part") => "alternator",
        ("engine", "charger") => "dcdc",
        ("shore", "part") => "inlet",
        ("generator", "part") => "generator",
        ("inverter", "part") => "inverter",
        ("charger", "part") => "charger",
        ("panels", "part") => "fuse_panel",
        ("converters", "part") => "converter",
        ("ac", "part") => "ac_panel",
        _ => return None,
    })
}
