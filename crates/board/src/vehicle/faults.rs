//! What is wrong on the plan of the vehicle: pure functions over it, in the form of the rules' findings.
//! Never: mends anything.
//! Start at [`Vehicle::faults`]; [`VEHICLE_CHECKS`] is the one list, each with its name and what it means to a person.

use model::Edit;
use quantity::{Kilograms, Metres};
use reference::{Cite, Reference};
use rules::{Finding, Severity};

use crate::judge::{self, Check, Out};
use crate::vehicle::{EdgeTreatment, Vehicle, WallHole};

/// Every check, sorted by name.
pub const VEHICLE_CHECKS: &[Check<Vehicle>] = &[
    (
        "plan-axle-lifted",
        "With too little on the front axle the vehicle does not steer; with the coupling lifted, a trailer swings out.",
        axle_lifted,
    ),
    (
        "plan-axle-overloaded",
        "An overloaded axle bursts tyres and lengthens the way to stop.",
        axle_overloaded,
    ),
    (
        "plan-channel-full",
        "Cables pulled into a duct that is too full are skinned, and warm one another.",
        channel_full,
    ),
    (
        "plan-hole-near-edge",
        "A hole near the edge of its wall tears out, and weakens a panel that carries.",
        hole_near_edge,
    ),
    (
        "plan-hole-without-fitting",
        "A cable that lies on the bare edge of a hole is cut through by shaking, and shorts to the metal.",
        hole_without_fitting,
    ),
    (
        "plan-length-short",
        "The voltage drop was worked out for less cable than the way takes, and what was bought does not reach.",
        length_short,
    ),
    ("plan-loose-cable", "A cable that hangs free chafes, and pulls at its ends.", loose_cable),
    (
        "plan-place-unknown",
        "What has no place on the plan has no way, no hole and no share of the axles.",
        place_unknown,
    ),
    ("plan-point-for-nothing", "A point without a use hides that its load was renamed.", point_for_nothing),
    ("plan-support-far", "Between supports too far apart a cable sags, swings and chafes.", support_far),
    (
        "plan-way-hotter",
        "A cable carries less where the air is hotter than it was sized for; its insulation ages and its fuse does not know.",
        way_hotter,
    ),
];

impl Vehicle {
    /// Everything wrong, worst first, then by check and place.
    pub fn faults(&self) -> Vec<Finding> {
        judge::all(self, VEHICLE_CHECKS)
    }
}

fn mm(length: Metres) -> f64 {
    length.get() * 1000.0
}

fn length_short(vehicle: &Vehicle, out: &mut Out) {
    for length in &vehicle.written {
        if length.written >= length.plan {
            continue;
        }
        // Within what is cut longer for the ends, the cable still reaches; the drop is a little more.
        let reaches = length.written.get() * (1.0 + vehicle.slack) >= length.plan.get();
        let severity = if reaches { Severity::Advice } else { Severity::Warning };
        let message = format!("{} is written, and the way on the plan takes {}", length.written, length.plan);
        let place = length.path.trim_end_matches(".length");
        let place = place.split_once('.').map_or(place, |(_, name)| name);
        let path: Vec<String> = length.path.split('.').map(str::to_owned).collect();
        out.say(severity, message, place, length.path.clone())
            .because(format!("the plan: {}", length.way))
            .fix("take the length away, so that the plan gives it", vec![Edit { path, value: None }])
            .mend("or draw a shorter channel");
    }
}

fn hole_near_edge(vehicle: &Vehicle, out: &mut Out) {
    let factor = Reference::standard().hole_from_edge();
    for hole in &vehicle.holes {
        let Some(wall) = vehicle.walls.iter().find(|wall| wall.name == hole.wall) else { continue };
        let distance = (0..3)
            .filter(|axis| *axis != wall.axis)
            .map(|axis| (hole.at_mm[axis] - wall.low_mm[axis]).min(wall.high_mm[axis] - hole.at_mm[axis]))
            .min()
            .map_or(0.0, f64::from);
        // As on the board: a wide hole with a grommet carries no load, and one diameter leaves half of it in the wall.
        let wants = mm(hole.diameter);
        if distance + 0.01 < wants {
            let message = format!(
                "hole {} of {wants} mm stands {distance:.0} mm from the edge of `{}`; it wants {wants:.0} mm",
                hole.number, hole.wall
            );
            out.say(Severity::Warning, message, &hole.wall, format!("plan.walls.{}", hole.wall))
                .because("one diameter from the middle, half of what a hole under load wants")
                .cites(&factor)
                .mend("lead the channel through the wall further in");
        }
    }
}

fn hole_without_fitting(vehicle: &Vehicle, out: &mut Out) {
    for hole in vehicle.holes.iter().filter(|hole| hole.edge == EdgeTreatment::None) {
        let what = if hole.is_sealed { "gland seals" } else { "grommet holds" };
        let message = format!(
            "no {what} a cable of {:.1} mm in hole {} of `{}` (run {})",
            mm(hole.cables),
            hole.number,
            hole.wall,
            numbers(hole)
        );
        out.say(Severity::Warning, message, &hole.wall, format!("plan.walls.{}", hole.wall))
            .cite(&Reference::standard().passage_edge())
            .mend("line the edge and seal it by a made sleeve, or lay two thinner cables");
    }
}

/// Run numbers of a hole.
fn numbers(hole: &WallHole) -> String {
    hole.numbers.iter().map(u32::to_string).collect::<Vec<_>>().join(", ")
}

fn support_far(vehicle: &Vehicle, out: &mut Out) {
    let most = vehicle.support_most();
    for channel in &vehicle.channels {
        if let Some(support) =
            channel.support.filter(|support| *support > most.value && !channel.numbers.is_empty())
        {
            let path = format!("plan.channels.{}.support", channel.name);
            let message = format!(
                "supports of channel `{}` stand {support} apart; at most {}",
                channel.name, most.value
            );
            let to = format!("{:.0} mm", mm(most.value).floor());
            out.say(Severity::Warning, message, &channel.name, path.clone())
                .cites(&most)
                .fix(format!("fix the cables every {to}"), vec![Edit::set(&path, to)]);
        }
    }
}

fn loose_cable(vehicle: &Vehicle, out: &mut Out) {
    let most = vehicle.support_most();
    // Out and back are one run, whichever end is named first.
    let mut told: Vec<[&str; 2]> = Vec::new();
    for cable in &vehicle.cables {
        let loose: i32 = cable
            .way
            .stretches
            .chunk_by(|a, b| a.channel.is_none() == b.channel.is_none())
            .filter(|chunk| chunk.iter().all(|stretch| stretch.channel.is_none()))
            .map(|chunk| chunk.iter().map(derive::ways::Stretch::length_mm).sum())
            .max()
            .unwrap_or(0);
        let mut ends = [cable.from.as_str(), cable.to.as_str()];
        ends.sort_unstable();
        if f64::from(loose) > mm(most.value) && !told.contains(&ends) {
            told.push(ends);
            let message = format!(
                "run {} from {} to {} goes {loose} mm outside the channels; it wants a support every {}",
                cable.number, cable.from, cable.to, most.value
            );
            out.say(Severity::Advice, message, &cable.conductor, cable.intent.clone())
                .cites(&most)
                .mend("fix it there, or draw a channel nearer to its end");
        }
    }
}

fn channel_full(vehicle: &Vehicle, out: &mut Out) {
    for channel in &vehicle.channels {
        let Some(area) = channel.area_mm2.filter(|area| *area > 0.0) else { continue };
        let limit = Reference::standard().channel_fill(channel.numbers.len());
        let share = channel.filled_mm2 / area;
        if share > limit.value.get() {
            let message = format!(
                "{} cables fill {:.0} % of channel `{}`; at most {:.0} %",
                channel.numbers.len(),
                share * 100.0,
                channel.name,
                limit.value.get() * 100.0
            );
            out.say(Severity::Warning, message, &channel.name, format!("plan.channels.{}", channel.name))
                .because(format!("{:.0} mm² of cable in {area:.0} mm²", channel.filled_mm2))
                .cites(&limit)
                .mend(format!("widen it to {:.0} mm² clear", channel.filled_mm2 / limit.value.get()));
        }
    }
}

fn axle_overloaded(vehicle: &Vehicle, out: &mut Out) {
    for axle in vehicle.axles.iter().flat_map(|loads| &loads.axles) {
        let (Some(load), Some(most)) = (axle.load(), axle.most) else { continue };
        if load > most {
            let message =
                format!("axle `{}` bears {:.0} kg; it may bear {:.0} kg", axle.name, load.get(), most.get());
            let empty = axle.empty.map_or(0.0, |empty| empty.get());
            out.say(Severity::Danger, message, &axle.name, format!("plan.axles.{}", axle.name))
                .because(format!(
                    "{empty:.0} kg empty and {:.0} kg of what the plan places, cables with it",
                    axle.added.get()
                ))
                .mend("move heavy things towards the other axle; people and baggage come on top");
        }
    }
}

fn axle_lifted(vehicle: &Vehicle, out: &mut Out) {
    for axle in vehicle.axles.iter().flat_map(|loads| &loads.axles) {
        if axle.load().is_some_and(|load| load.get() <= 0.0) {
            let message = format!("axle `{}` is lifted off the road", axle.name);
            out.say(Severity::Danger, message, &axle.name, format!("plan.axles.{}", axle.name))
                .because(format!("what the plan places takes {:.0} kg off it", -axle.added.get()))
                .mend("move heavy things between the axles");
        }
    }
}

fn place_unknown(vehicle: &Vehicle, out: &mut Out) {
    if vehicle.without_point.is_empty() || vehicle.points.is_empty() {
        return;
    }
    let names: Vec<&str> = vehicle.without_point.iter().map(String::as_str).collect();
    let count = names.len();
    let first = names.iter().take(6).copied().collect::<Vec<_>>().join(", ");
    let more = if count > 6 { format!(" and {} more", count - 6) } else { String::new() };
    out.say(
        Severity::Advice,
        format!("{count} without a place on the plan: {first}{more}"),
        "plan",
        "plan.points".to_owned(),
    )
    .mend("give each a point: `[plan.points.NAME]` with x, y and z");
}

fn point_for_nothing(vehicle: &Vehicle, out: &mut Out) {
    for point in &vehicle.points {
        if point.stands_for.is_empty() && point.mass <= Kilograms::zero() {
            let path = format!("plan.points.{}", point.name);
            let message = format!("point `{}` stands for nothing that the project has", point.name);
            let edit = Edit { path: path.split('.').map(str::to_owned).collect(), value: None };
            out.say(Severity::Advice, message, &point.name, path)
                .fix("take it away, or give it the name of what stands there, `is`, or a `mass`", vec![edit]);
        }
    }
}

fn way_hotter(vehicle: &Vehicle, out: &mut Out) {
    for cable in &vehicle.cables {
        let hottest = vehicle
            .channels
            .iter()
            .filter(|channel| cable.way.channels().contains(&channel.name.as_str()))
            .filter_map(|channel| channel.zone.as_ref().map(|(zone, celsius)| (channel, zone, *celsius)))
            .max_by(|a, b| a.2.total_cmp(&b.2));
        let Some((channel, zone, celsius)) = hottest else { continue };
        if celsius > cable.sized_for_celsius {
            let message = format!(
                "run {} passes zone `{zone}` of {celsius:.0} °C in channel `{}`; it was sized for {:.0} °C",
                cable.number, channel.name, cable.sized_for_celsius
            );
            out.say(Severity::Warning, message, &cable.conductor, cable.intent.clone()).mend(
                "give its table a route in that zone, so that it is sized for it, or lead it another way",
            );
        }
    }
}

/// The table rows on which the checks stand.
pub fn vehicle_cites() -> Vec<Cite> {
    let reference = Reference::standard();
    vec![
        reference.hole_from_edge().cite,
        reference.passage_edge(),
        reference.cable_support(reference::RuleSet::Na).cite,
        reference.cable_support(reference::RuleSet::Iec).cite,
        reference.channel_fill(3).cite,
    ]
}
