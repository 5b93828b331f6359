//! The board of every example and of boards made by chance: what must hold of every placing.
//! Never: takes a wanted place from the placing itself.
//! Start at [`examples`] and [`sound`].
#![allow(clippy::unwrap_used)]

use board::{Current, HoleUse, Layout, Rect, Turn, place};
use model::{BoardIntent, BoardPlace, Pole, Project, Side, SourceText, System};
use proptest::prelude::*;
use quantity::{Kilograms, Metres};

fn project_of(name: &str, text: String) -> Project {
    let source = SourceText { name: name.to_owned(), text };
    Project::read(source, model::library::builtin().clone())
        .unwrap_or_else(|problems| panic!("{problems:#?}"))
}

fn example(name: &str) -> Project {
    let path = format!("{}/../../examples/{name}/intent.toml", env!("CARGO_MANIFEST_DIR"));
    project_of(name, std::fs::read_to_string(path).unwrap())
}

const EXAMPLES: [&str; 4] = ["heron", "marten", "teal", "wren"];

fn mm(value: i32) -> Metres {
    Metres::new(f64::from(value) / 1000.0)
}

fn sized(width: i32, height: i32) -> BoardIntent {
    BoardIntent { width: Some(mm(width)), height: Some(mm(height)), ..BoardIntent::default() }
}

/// What must hold of a placing on which everything fits and nothing is pinned, worked out anew from its rectangles.
fn sound(layout: &Layout) {
    let (width, height) = layout.plan.outline.extent();
    let whole = Rect::new(0, 0, width, height);
    for placed in &layout.devices {
        let grown = placed.rect.grown([layout.plan.margin_mm; 4]);
        assert_eq!(whole.shared(grown), (grown.width_mm, grown.height_mm), "{} is inside", placed.id);
        let free = placed.rect.grown(placed.clear_mm);
        assert_eq!(whole.shared(free), (free.width_mm, free.height_mm), "{} has its room inside", placed.id);
        for area in layout.plan.notches.iter().chain(&layout.plan.keep_out) {
            assert_eq!(area.depth(placed.rect), 0, "{} stands on no cut-out", placed.id);
        }
        if layout.plan.is_upright() && placed.upright {
            assert_eq!(placed.turn, Turn::NONE, "{} stands upright", placed.id);
        }
        for (side, (air, clear)) in placed.air_mm.iter().zip(placed.clear_mm).enumerate() {
            assert!(clear >= *air, "{} side {side}", placed.id);
        }
        for other in layout.devices.iter().filter(|other| other.device != placed.device) {
            assert_eq!(placed.rect.depth(other.rect), 0, "{} and {} overlap", placed.id, other.id);
            assert_eq!(free.depth(other.rect), 0, "{} leaves {} no room", other.id, placed.id);
            if placed.current == Current::Ac && other.current == Current::Dc {
                let (x, y) = placed.rect.gap(other.rect);
                assert!(x.max(y) >= 100, "{} and {} are apart", placed.id, other.id);
            }
        }
    }
    for route in &layout.routes {
        let length: i32 =
            route.points_mm.windows(2).map(|p| (p[0].0 - p[1].0).abs() + (p[0].1 - p[1].1).abs()).sum();
        let millimetres = route.length.get() * 1000.0;
        assert!(millimetres <= f64::from(length) + 1.0, "{:?}", route.ids);
        assert!(route.length_cut >= route.length || route.leaves, "{:?}", route.ids);
        for pair in route.points_mm.windows(2) {
            assert!(pair[0].0 == pair[1].0 || pair[0].1 == pair[1].1, "{:?} is square", route.ids);
            for placed in layout.devices.iter().filter(|_| !route.is_blocked) {
                assert!(!placed.rect.is_crossed(pair[0], pair[1]), "{:?} crosses {}", route.ids, placed.id);
            }
        }
        if route.is_swung {
            let (first, last) = (route.points_mm[0], *route.points_mm.last().unwrap());
            let (x, y) = (f64::from((first.0 - last.0).abs()), f64::from((first.1 - last.1).abs()));
            let is_level = route.points_mm[0].1 == route.points_mm[1].1;
            let (ahead, aside) = if is_level { (x, y) } else { (y, x) };
            // Two arcs of the radius that meet: their chord.
            let centre = 4.5 * route.diameter.get() * 1000.0;
            assert!(ahead * ahead + 1e-6 >= aside * (4.0 * centre - aside), "{:?}", route.ids);
        } else if route.keeps_bends {
            // Four diameters at the inner side, half of one more to the middle; two bends share a stretch.
            let centre = 4.5 * route.diameter.get() * 1000.0;
            let lengths: Vec<f64> = route
                .points_mm
                .windows(2)
                .map(|p| f64::from((p[0].0 - p[1].0).abs() + (p[0].1 - p[1].1).abs()))
                .collect();
            let last = lengths.len() - 1;
            for (at, length) in lengths.iter().enumerate() {
                let bends = usize::from(at > 0) + usize::from(at < last);
                assert!(*length >= bends as f64 * centre - 0.5, "{:?}: {lengths:?} for {centre}", route.ids);
            }
        }
    }
}

fn show(layout: &Layout) -> String {
    let mut text = String::new();
    for placed in &layout.devices {
        let Rect { x_mm, y_mm, width_mm, height_mm } = placed.rect;
        text += &format!("{} {x_mm} {y_mm} {width_mm}x{height_mm} {}°\n", placed.id, placed.turn.degrees());
    }
    for finding in layout.faults() {
        text += &format!("{} {}\n", finding.rule, finding.message);
    }
    text
}

#[test]
fn every_example_is_placed_and_stands_well() {
    for name in EXAMPLES {
        let project = example(name);
        let system = derive::derive(&project);
        let wanted = project.intent.board.clone().unwrap_or_default();
        let layout = place(&system, &project.library, &wanted);
        println!(
            "{name}: {:?} {} devices\n{}",
            layout.plan.outline.extent(),
            layout.devices.len(),
            show(&layout)
        );
        assert!(layout.left_over.is_empty() && layout.unknown.is_empty(), "{name}");
        assert!(layout.devices.len() >= 4, "{name}");
        sound(&layout);
        let warnings: Vec<String> = layout
            .faults()
            .into_iter()
            .filter(|finding| finding.severity != rules::Severity::Advice)
            .map(|finding| finding.message)
            .collect();
        assert!(warnings.is_empty(), "{name}: {warnings:#?}");
        assert!(layout.assumptions.iter().any(|a| a.path == "board.width"), "{name} says that it was sized");
    }
}

#[test]
fn the_same_project_gives_the_same_bytes() {
    let project = example("wren");
    let system = derive::derive(&project);
    let wanted = BoardIntent::default();
    let twice = [(); 2].map(|()| serde_json::to_string(&place(&system, &project.library, &wanted)).unwrap());
    assert_eq!(twice[0], twice[1]);
}

#[test]
fn what_is_far_or_in_its_box_stays_off_the_board() {
    let project = example("heron");
    let system = derive::derive(&project);
    let on: Vec<&str> = board::on_board(&system, &BoardIntent::default())
        .into_iter()
        .map(|ix| system.devices[ix].id.as_str())
        .collect();
    for id in ["positive-bar", "negative-bar", "main.disconnect", "main.shunt", "inverter", "house", "ac"] {
        assert!(on.contains(&id), "{id} is on the board: {on:?}");
    }
    for id in
        ["bank-1", "main.fuse", "engine.fuse", "roof", "rear", "fridge", "fridge.fuse", "engine.battery"]
    {
        assert!(!on.contains(&id), "{id} is off the board: {on:?}");
    }
}

#[test]
fn each_device_has_its_screws_and_its_cables_their_hole() {
    let project = example("heron");
    let system = derive::derive(&project);
    let layout = place(&system, &project.library, &BoardIntent::default());
    for placed in &layout.devices {
        let screws: Vec<_> = layout
            .holes
            .iter()
            .filter(|hole| hole.is_for == HoleUse::Device && hole.device == placed.id)
            .collect();
        assert!(screws.len() >= 2, "{}", placed.id);
        for hole in screws {
            assert!(placed.rect.depth(Rect::new(hole.x_mm - 1, hole.y_mm - 1, 2, 2)) > 0, "{}", placed.id);
        }
        let leaves = system.conductors.iter().any(|c| {
            let ends = [c.from.device, c.to.device];
            let is_off = |ix: &usize| !layout.devices.iter().any(|placed| placed.device == *ix);
            !c.is_internal && ends.contains(&placed.device) && ends.iter().any(is_off)
        });
        let has = layout.holes.iter().any(|hole| hole.is_for == HoleUse::Cables && hole.device == placed.id);
        assert_eq!(leaves, has, "{}", placed.id);
    }
    // A round hole is wider than the cables that it lets through: at least the area of all.
    let house = layout.holes.iter().find(|h| h.is_for == HoleUse::Cables && h.device == "house").unwrap();
    let count =
        layout.routes.iter().filter(|r| r.leaves && r.ids.iter().any(|id| id.contains("fridge"))).count();
    assert!(count >= 1 && house.diameter >= mm(10), "{count} {}", house.diameter);
    assert!(layout.holes.iter().filter(|hole| hole.is_for == HoleUse::Board).count() >= 4);
}

#[test]
fn a_pin_is_kept_and_judged() {
    let project = example("wren");
    let system = derive::derive(&project);
    let free = place(&system, &project.library, &sized(1200, 900));
    assert!(
        free.left_over.is_empty() && free.faults().iter().all(|f| f.rule == "board-ac-near-dc"),
        "{}",
        show(&free)
    );
    let id = "main.disconnect";
    let mut wanted = sized(1200, 900);
    wanted.places.0.insert(id.to_owned(), BoardPlace { x: mm(333), y: mm(555), turn: None });
    let layout = place(&system, &project.library, &wanted);
    let pinned = layout.find(id).unwrap();
    assert_eq!((pinned.rect.x_mm, pinned.rect.y_mm, pinned.is_pinned), (333, 555, true));
    let others = layout.faults().into_iter().filter(|f| f.rule != "board-ac-near-dc").collect::<Vec<_>>();
    assert!(others.is_empty(), "the rest is placed around it: {others:#?}");
    // Over the edge it stays where it was put, and is told.
    wanted.places.0.insert(id.to_owned(), BoardPlace { x: mm(1190), y: mm(555), turn: None });
    let layout = place(&system, &project.library, &wanted);
    assert_eq!(layout.find(id).unwrap().rect.x_mm, 1190);
    let finding = layout.faults().into_iter().find(|finding| finding.rule == "board-device-outside").unwrap();
    assert_eq!((finding.place.as_str(), finding.intent.as_str()), (id, "board.places.main.disconnect"));
    assert_eq!(finding.fixes[0].edits[0].path, ["board", "places", id]);
}

fn moved_to(id: &str, x: i32, y: i32, turn: u8) -> (Layout, Layout) {
    let project = example("heron");
    let system = derive::derive(&project);
    let wanted = sized(1600, 1100);
    let layout = place(&system, &project.library, &wanted);
    assert!(layout.left_over.is_empty(), "{}", show(&layout));
    let now = board::moved(&system, &project.library, &wanted, &layout, id, (x, y, Turn::quarters(turn)));
    (layout, now)
}

#[test]
fn a_drag_moves_one_device_and_is_judged_at_once() {
    let project = example("heron");
    let system = derive::derive(&project);
    let wanted = sized(1600, 1100);
    let layout = place(&system, &project.library, &wanted);
    let shunt = layout.find("main.shunt").unwrap().rect;
    let now = board::moved(
        &system,
        &project.library,
        &wanted,
        &layout,
        "house",
        (shunt.x_mm + 10, shunt.y_mm + 10, Turn::NONE),
    );
    for placed in &layout.devices {
        let after = now.find(&placed.id).unwrap();
        assert!(placed.id == "house" || after.rect == placed.rect, "{}", placed.id);
    }
    let rules: Vec<&str> = now.faults().iter().map(|finding| finding.rule).collect();
    assert!(rules.contains(&"board-devices-overlap"), "{rules:?}");
}

#[test]
fn an_inverter_on_its_side_is_told() {
    let (_, now) = moved_to("inverter", 300, 400, 1);
    let finding = now.faults().into_iter().find(|finding| finding.rule == "board-vent-not-up").unwrap();
    assert_eq!(finding.place, "inverter");
}

#[test]
fn a_board_that_is_too_small_says_what_does_not_fit_and_what_would_do() {
    let project = example("wren");
    let system = derive::derive(&project);
    let layout = place(&system, &project.library, &sized(400, 300));
    assert!(!layout.left_over.is_empty());
    sound(&layout);
    let (width, height) = layout.smallest_mm.unwrap();
    assert!(width > 400 && height > 300);
    assert!(layout.faults().iter().any(|finding| finding.rule == "board-device-does-not-fit"));
    // What it says would do, does.
    let larger = place(&system, &project.library, &sized(width, height));
    assert!(larger.left_over.is_empty(), "{width} x {height}: {}", show(&larger));
    sound(&larger);
}

#[test]
fn a_wheel_arch_is_kept_clear() {
    let project = example("wren");
    let system = derive::derive(&project);
    let mut wanted = sized(1300, 900);
    wanted.notches = vec![model::BoardArea { x: mm(400), y: mm(0), width: mm(500), height: mm(350) }];
    wanted.keep_out = vec![model::BoardArea { x: mm(0), y: mm(800), width: mm(300), height: mm(100) }];
    let layout = place(&system, &project.library, &wanted);
    assert!(layout.left_over.is_empty(), "{}", show(&layout));
    sound(&layout);
    for route in layout.routes.iter().filter(|route| !route.is_blocked) {
        for pair in route.points_mm.windows(2) {
            for area in layout.plan.notches.iter().chain(&layout.plan.keep_out) {
                assert!(!area.is_crossed(pair[0], pair[1]), "{:?}", route.ids);
            }
        }
    }
}

#[test]
fn what_a_hand_must_reach_stands_within_reach() {
    let project = example("wren");
    let system = derive::derive(&project);
    let wanted = BoardIntent { access: Some(Side::Left), reach: Some(mm(450)), ..sized(1500, 900) };
    let layout = place(&system, &project.library, &wanted);
    for placed in layout.devices.iter().filter(|placed| placed.service) {
        assert!(placed.rect.x_mm <= 450, "{} at {}", placed.id, placed.rect.x_mm);
    }
    let far = BoardPlace { x: mm(1200), y: mm(400), turn: None };
    let mut wanted = wanted;
    wanted.places.0.insert("main.disconnect".to_owned(), far);
    let layout = place(&system, &project.library, &wanted);
    let finding = layout.faults().into_iter().find(|f| f.rule == "board-service-out-of-reach").unwrap();
    assert_eq!(finding.place, "main.disconnect");
}

#[test]
fn a_heavy_board_on_few_screws_is_told_with_the_number_that_holds() {
    let project = example("heron");
    let system = derive::derive(&project);
    let fixing = |x, y| model::BoardPoint { x: mm(x), y: mm(y) };
    let wanted = BoardIntent {
        fixings: vec![fixing(20, 20), fixing(1580, 1080), fixing(4, 500)],
        fixing_load: Some(Kilograms::new(5.0)),
        ..sized(1600, 1100)
    };
    let layout = place(&system, &project.library, &wanted);
    let faults = layout.faults();
    let heavy = faults.iter().find(|finding| finding.rule == "board-overloaded").unwrap();
    let needed = (layout.mass().get() / 5.0).ceil();
    assert!(heavy.fixes[0].what.contains(&format!("{needed} screws")), "{heavy:#?}");
    // 6 mm hole, 4 mm from the edge; two diameters are 12 mm.
    let near: Vec<_> = faults.iter().filter(|finding| finding.rule == "board-hole-near-edge").collect();
    assert_eq!(near.len(), 1, "{near:#?}");
    assert!(near[0].message.contains("4 mm") && near[0].message.contains("12 mm"), "{}", near[0].message);
}

#[test]
fn names_that_are_nothing_on_the_board_are_told() {
    let project = example("wren");
    let system = derive::derive(&project);
    let mut wanted = BoardIntent { without: vec!["main.shnt".to_owned()], ..BoardIntent::default() };
    wanted.places.0.insert("main.disconect".to_owned(), BoardPlace { x: mm(1), y: mm(1), turn: None });
    let layout = place(&system, &project.library, &wanted);
    let told: Vec<String> = layout
        .faults()
        .into_iter()
        .filter(|finding| finding.rule == "board-name-unknown")
        .map(|finding| finding.fixes[0].what.clone())
        .collect();
    assert_eq!(told.len(), 2);
    assert!(told.iter().any(|mend| mend.contains("main.disconnect")), "{told:?}");
}

#[test]
fn lengths_go_back_into_the_system_until_steady() {
    for name in EXAMPLES {
        let project = example(name);
        let settled = board::with_board_lengths(&project, 8);
        println!("{name}: {} rounds, {} changes", settled.rounds, settled.changes.len());
        assert!(settled.is_steady, "{name} after {} rounds", settled.rounds);
        for (id, length) in settled.layout.lengths(&settled.system) {
            let conductor = settled.system.conductors.iter().find(|c| c.id == id).unwrap();
            assert_eq!(conductor.length, length, "{name}: {id}");
        }
        // The drop is that of the lengths on the board.
        let results = network::study(&settled.system);
        for (conductor, ohms) in settled.system.conductors.iter().zip(&results.resistances) {
            assert!(
                conductor.is_internal || ohms.get() > 0.0 || conductor.pole == Pole::Earth,
                "{}",
                conductor.id
            );
        }
    }
}

#[test]
fn one_round_is_told_as_not_steady() {
    let settled = board::with_board_lengths(&example("wren"), 1);
    assert_eq!((settled.rounds, settled.is_steady), (1, false));
}

fn made_up(panels: usize, loads: usize, ac: bool, volts: u32, inverter: bool) -> (Project, System) {
    let mut text = format!(
        "[brief]\nname = \"Chance\"\ncraft = \"van\"\nrules = \"iec\"\nvoltage = \"{volts} V\"\n[bank]\nlength = \"1 m\"\n"
    );
    for panel in 0..panels {
        text += &format!("[panels.p{panel}]\nlength = \"0.8 m\"\n");
    }
    for load in 0..loads {
        text += &format!(
            "[loads.l{load}]\npower = \"{} W\"\nhours = \"2 h/day\"\nlength = \"3 m\"\npanel = \"p{}\"\n",
            10 + 37 * load,
            load % panels
        );
    }
    if inverter {
        text += "[inverter]\nkind = \"inverter\"\npower = \"1200 W\"\nlength = \"0.8 m\"\n";
    }
    if ac {
        text += "[shore]\ncurrent = \"16 A\"\nlength = \"3 m\"\nhours = \"1 h/day\"\n[charger]\nlength = \"0.6 m\"\n";
    }
    let project = project_of("chance", text);
    let system = derive::derive(&project);
    (project, system)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_placed_stands_well(
        panels in 1usize..4,
        loads in 1usize..7,
        ac in any::<bool>(),
        volts in prop::sample::select(vec![12u32, 24]),
        inverter in any::<bool>(),
        width in 500i32..1500,
        height in 400i32..1100,
        flat in any::<bool>(),
        is_sized in any::<bool>(),
    ) {
        let (project, system) = made_up(panels, loads, ac, volts, inverter);
        let mut wanted = if is_sized { sized(width, height) } else { BoardIntent::default() };
        wanted.orientation = flat.then_some(model::Orientation::Flat);
        let layout = place(&system, &project.library, &wanted);
        sound(&layout);
        let on = board::on_board(&system, &wanted).len();
        prop_assert_eq!(layout.devices.len() + layout.left_over.len(), on);
        prop_assert!(is_sized || layout.left_over.is_empty());
        let told = |rule: &str| layout.faults().iter().any(|finding| finding.rule == rule);
        for rule in ["board-devices-overlap", "board-device-outside", "board-air-missing", "board-vent-not-up"] {
            prop_assert!(!told(rule), "{} {}", rule, show(&layout));
        }
        prop_assert_eq!(told("board-device-does-not-fit"), !layout.left_over.is_empty());
    }
}
