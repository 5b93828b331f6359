//! The plan of the vehicle: lengths that it gives, holes that runs make, what is told where it is wrong.
//! Start at [`project`].
#![allow(clippy::unwrap_used)]

use board::Vehicle;
use board::vehicle::EdgeTreatment;
use model::{Project, SourceText, System};

const HEAD: &str = "[brief]\nname = \"V\"\ncraft = \"van\"\nrules = \"na\"\nvoltage = \"12 V\"\n\
    [bank]\nchemistry = \"lfp\"\ncapacity = \"200 Ah\"\nlength = \"0.5 m\"\n";
const PLAN: &str = "[plan]\nlength = \"4 m\"\nwidth = \"1.8 m\"\nheight = \"1.9 m\"\n\
    [plan.points]\nboard = { x = \"1 m\", y = \"0 m\", z = \"300 mm\" }\npump = { x = \"3 m\", y = \"200 mm\", z = \"0 m\" }\n";

fn project(more: &str) -> (Project, System) {
    let text = format!("{HEAD}{more}");
    let source = SourceText { name: "intent.toml".to_owned(), text };
    let project =
        Project::read(source, model::library::builtin().clone()).unwrap_or_else(|p| panic!("{p:#?}"));
    let system = derive::derive(&project);
    (project, system)
}

fn sill(more: &str) -> String {
    format!(
        "[plan.channels.sill]\npoints = [{{ x = \"0 m\", y = \"0 m\", z = \"0 m\" }}, {{ x = \"4 m\", y = \"0 m\", z = \"0 m\" }}]\n{more}"
    )
}

fn wall(outside: bool, high: &str) -> String {
    format!(
        "[plan.walls.bulkhead]\nfrom = {{ x = \"2 m\", y = \"0 m\", z = \"-200 mm\" }}\n\
         to = {{ x = \"2 m\", y = \"{high}\", z = \"1.8 m\" }}\nthickness = \"1 mm\"\nmaterial = \"steel\"\noutside = {outside}\n"
    )
}

const PUMP: &str = "[loads.pump]\npart = \"water-pump\"\n";

#[test]
fn a_run_without_a_length_takes_that_of_the_plan() {
    let (_, system) = project(&format!("{PUMP}{PLAN}{}", sill("")));
    let conductor = system.conductors.iter().find(|conductor| conductor.id == "pump.positive").unwrap();
    // 300 mm down from the board, 2 m along the sill, 200 mm to the pump.
    assert_eq!(conductor.length.get(), 2.5);
    let because = system.because.get("plan.loads.pump.length").unwrap();
    assert!(because.step.contains("along sill"), "{because:?}");
    assert!(system.assumptions.iter().all(|assumed| assumed.path != "loads.pump.length"));
    let again = project(&format!("{PUMP}{PLAN}{}", sill(""))).1;
    assert_eq!(serde_json::to_string(&again).unwrap(), serde_json::to_string(&system).unwrap());
}

#[test]
fn a_written_length_stands_and_one_that_is_short_is_told() {
    let text = |length: &str| format!("{PUMP}length = \"{length}\"\n{PLAN}{}", sill(""));
    let found = |length: &str| {
        let (project, system) = project(&text(length));
        let conductor = system.conductors.iter().find(|conductor| conductor.id == "pump.positive").unwrap();
        assert_eq!(conductor.length, project.intent.loads.values().next().unwrap().length.unwrap());
        let faults = Vehicle::of(&project, &system).unwrap().faults();
        faults.into_iter().find(|fault| fault.rule == "plan-length-short").map(|fault| fault.severity)
    };
    assert_eq!(found("2.5 m"), None);
    assert_eq!(found("2.4 m"), Some(rules::Severity::Advice));
    assert_eq!(found("2 m"), Some(rules::Severity::Warning));
}

#[test]
fn a_pair_through_metal_shares_a_grommet_and_through_an_outside_wall_has_two_glands() {
    let inside = project(&format!("{PUMP}{PLAN}{}{}", sill(""), wall(false, "1.8 m")));
    let vehicle = Vehicle::of(&inside.0, &inside.1).unwrap();
    assert_eq!(vehicle.holes.len(), 1);
    let hole = &vehicle.holes[0];
    assert_eq!((hole.at_mm[0], hole.numbers.len(), hole.is_metal), (2000, 2, true));
    // The bore passes the bundle, and the hole the grommet.
    let EdgeTreatment::Grommet { bore } = hole.edge else { panic!("{hole:?}") };
    assert!(bore >= hole.cables && hole.diameter > bore);
    assert!(hole.treatment.contains("deburr"));

    let outside = project(&format!("{PUMP}{PLAN}{}{}", sill(""), wall(true, "1.8 m")));
    let vehicle = Vehicle::of(&outside.0, &outside.1).unwrap();
    assert_eq!(vehicle.holes.len(), 2);
    let reference = reference::Reference::standard();
    for hole in &vehicle.holes {
        match (&hole.edge, reference.gland(hole.cables)) {
            (EdgeTreatment::Gland { thread, part }, Some(gland)) => {
                assert!(part.is_some());
                assert!(*thread == gland.value.thread && hole.is_sealed);
                assert!(gland.value.least <= hole.cables && hole.cables <= gland.value.most);
            }
            (EdgeTreatment::None, None) => {}
            other => panic!("{other:?}"),
        }
    }
    // Side by side, with wall between them.
    let gap = (vehicle.holes[0].at_mm[1] - vehicle.holes[1].at_mm[1]).abs();
    assert!(f64::from(gap) > vehicle.holes[0].diameter.get() * 1000.0);
}

#[test]
fn a_wall_that_the_way_passes_beside_has_no_hole() {
    // The wall begins above the sill.
    let above = wall(false, "1.8 m").replace("-200 mm", "400 mm");
    let (project, system) = project(&format!("{PUMP}{PLAN}{}{above}", sill("")));
    assert!(Vehicle::of(&project, &system).unwrap().holes.is_empty());
}

#[test]
fn what_is_wrong_is_told() {
    let told = |text: &str| -> Vec<&'static str> {
        let (project, system) = project(text);
        Vehicle::of(&project, &system).unwrap().faults().iter().map(|fault| fault.rule).collect()
    };
    let plain = format!("{PUMP}{PLAN}{}", sill(""));
    assert!(!told(&plain).iter().any(|rule| *rule != "plan-place-unknown"), "{:?}", told(&plain));
    assert!(told(&format!("{PUMP}{PLAN}{}", sill("support = \"500 mm\"\n"))).contains(&"plan-support-far"));
    assert!(!told(&format!("{PUMP}{PLAN}{}", sill("support = \"450 mm\"\n"))).contains(&"plan-support-far"));
    let duct = |size: &str| sill(&format!("width = \"{size}\"\nheight = \"{size}\"\n"));
    assert!(told(&format!("{PUMP}{PLAN}{}", duct("6 mm"))).contains(&"plan-channel-full"));
    assert!(!told(&format!("{PUMP}{PLAN}{}", duct("60 mm"))).contains(&"plan-channel-full"));
    // The sill runs along the right-hand side, so its hole stands on the very edge of a wall that begins there.
    assert!(
        told(&format!("{PUMP}{PLAN}{}{}", sill(""), wall(false, "1.8 m"))).contains(&"plan-hole-near-edge")
    );
    let gone = "hob = { x = \"1 m\", y = \"0 m\", z = \"0 m\" }\n";
    assert!(told(&format!("{PUMP}{PLAN}{gone}{}", sill(""))).contains(&"plan-point-for-nothing"));
    let axles = |most: &str, mass: &str| {
        format!(
            "{PUMP}{PLAN}stone = {{ x = \"0 m\", y = \"0 m\", z = \"0 m\", mass = \"{mass}\" }}\n\
             [plan.axles]\nrear = {{ x = \"1 m\", empty = \"900 kg\", most = \"{most}\" }}\nfront = {{ x = \"3 m\", empty = \"100 kg\" }}\n"
        )
    };
    assert!(told(&axles("1000 kg", "100 kg")).contains(&"plan-axle-overloaded"));
    assert!(!told(&axles("1600 kg", "100 kg")).contains(&"plan-axle-overloaded"));
    // 300 kg a metre behind the rear axle take 150 kg off the front one.
    assert!(told(&axles("9000 kg", "300 kg")).contains(&"plan-axle-lifted"));
}

/// The lever rule on paper: `on the front axle = m (x - rear) / (front - rear)`. The water pump's pair goes from the board at
/// x = 1 m, 0.3 m down, 2 m along the sill to x = 3 m and 0.2 m across. Its middle is at
/// (0.3 * 1 + 2.0 * 2 + 0.2 * 3) / 2.5 = 1.96 m; with axles at 0 and 4 m, 49 % of its mass is on the front one.
#[test]
fn cables_load_the_axles_along_their_ways() {
    let axles = "[plan.axles]\nrear = { x = \"0 m\" }\nfront = { x = \"4 m\" }\n";
    let (project, system) = project(&format!("{PUMP}{PLAN}{}{axles}", sill("")));
    let vehicle = Vehicle::of(&project, &system).unwrap();
    let pair: Vec<_> = vehicle.cables.iter().filter(|cable| cable.conductor.starts_with("pump.")).collect();
    assert_eq!((pair.len(), vehicle.cables.len()), (2, 2));
    // The part tells the mass of a metre.
    let part = |id: &Option<String>| {
        let id = id.as_deref().unwrap().strip_prefix("cable.").unwrap();
        project.library.cable.iter().find(|(name, _)| name.as_str() == id).unwrap().1.mass.get()
    };
    let wanted: f64 = system
        .conductors
        .iter()
        .filter(|conductor| pair.iter().any(|cable| cable.conductor == conductor.id))
        .map(|conductor| part(&conductor.cable) * 2.5)
        .sum();
    let loads = vehicle.axles.unwrap();
    assert!(wanted > 0.0 && (loads.cables.get() - wanted).abs() < 1e-9, "{} {wanted}", loads.cables);
    let points = |x: f64| {
        vehicle.points.iter().map(|p| p.mass.get() * (f64::from(p.at_mm[0]) / 1000.0) / x).sum::<f64>()
    };
    let front = points(4.0) + 0.49 * wanted;
    assert!((loads.axles[1].added.get() - front).abs() < 1e-9, "{:?} {front}", loads.axles);
    let placed: f64 = vehicle.points.iter().map(|point| point.mass.get()).sum::<f64>() + wanted;
    assert!((loads.placed.get() - placed).abs() < 1e-9);
    assert!((loads.axles[0].added.get() + loads.axles[1].added.get() - placed).abs() < 1e-9);
}
