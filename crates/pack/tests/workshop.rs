//! Cut plan, ends, holes, small goods, labels and the simulator's deck of the examples, and of a small system worked on paper.
//! Never: takes a wanted value from our own output; the simulator is ngspice (Debian package `ngspice`).
//! Start at the first test.
#![allow(clippy::unwrap_used)] // A test may stop at what it did not expect.

mod common;

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use common::{Derived, csv_rows, small, text};
use pack::{FittingKind, Inputs, Labelling, Lining, Pack, Proof, label_grids, label_pages, labels};

const EXAMPLES: [&str; 5] = ["heron", "teal", "wren", "marten", "faulty"];

fn all() -> Vec<(String, Derived)> {
    let mut all = vec![("small".to_owned(), small())];
    all.extend(EXAMPLES.map(|name| (name.to_owned(), Derived::example(name))));
    all
}

#[test]
fn every_cable_is_cut_once_and_every_plan_is_proven_within_a_hundredth() {
    for (name, derived) in all() {
        let schedules = derived.schedules();
        let mut cut: Vec<&str> = Vec::new();
        for cuts in &schedules.cuts {
            let plan = cuts.plan.as_ref().unwrap_or_else(|| panic!("{name}: {:?}", cuts.reason));
            assert!(plan.gap().get() <= 0.01, "{name}: {} {:?}", cuts.what, plan.proof);
            let pieces: usize = plan.reels.iter().map(|reel| reel.pieces.len()).sum();
            assert_eq!(pieces, cuts.pieces.len(), "{name}");
            if cuts.cores == 1 {
                cut.extend(cuts.pieces.iter().filter_map(|piece| piece.name.split(", ").nth(1)));
            }
        }
        let mut single: Vec<&str> =
            schedules.cables.iter().filter(|row| row.cores == 1).map(|row| row.id.as_str()).collect();
        single.sort_unstable();
        cut.sort_unstable();
        assert_eq!(cut, single, "{name}");
        // A sheath is cut once a run.
        let sheaths: BTreeSet<u32> =
            schedules.cables.iter().filter(|row| row.cores > 1).map(|row| row.number).collect();
        let pieces: BTreeSet<&str> = schedules
            .cuts
            .iter()
            .filter(|cuts| cuts.cores > 1)
            .flat_map(|cuts| cuts.pieces.iter().map(|piece| piece.name.split(',').next().unwrap()))
            .collect();
        let wanted: BTreeSet<String> = sheaths.iter().map(|run| format!("run {run}")).collect();
        assert_eq!(pieces, wanted.iter().map(String::as_str).collect(), "{name}");
    }
}

#[test]
fn the_small_system_is_bought_in_whole_feet() {
    // On paper, lengths with 10 % slack and a foot of 0.3048 m: 1.65 m are 5.41 ft of 2/0 AWG, red and yellow each;
    // 3.3 m are 10.83 ft of the sheath; 1.1 m are 3.61 ft of 6 AWG, green.
    let derived = small();
    let files = derived.pack();
    let (head, rows) = csv_rows(&files, "cable-order.csv");
    let at = |key: &str| head.iter().position(|name| name == key).unwrap();
    let bought: Vec<(&str, &str)> =
        rows.iter().map(|row| (row[at("colour")].as_str(), row[at("buy")].as_str())).collect();
    let wanted =
        [("yellow", "1 x 6 ft"), ("red", "1 x 6 ft"), ("green", "1 x 4 ft"), ("", "1 x 11 ft"), ("", "")];
    assert_eq!(bought, wanted);
    // 6 + 6 + 4 + 11 = 27 ft are 8.2296 m; each row is shown to a hundredth.
    let total = rows.last().unwrap();
    assert_eq!((total[0].as_str(), total[at("bought_m")].as_str()), ("total", "8.23"));
    let schedules = derived.schedules();
    assert!(schedules.cuts.iter().all(|cuts| cuts.plan.as_ref().unwrap().proof == Proof::ReachesBound));
}

#[test]
fn every_end_is_listed_with_its_torque_and_heat_shrink() {
    for (name, derived) in all() {
        let schedules = derived.schedules();
        assert_eq!(schedules.ends.len(), 2 * schedules.cables.len(), "{name}");
        for end in &schedules.ends {
            let is_lug = matches!(end.kind, FittingKind::Lug | FittingKind::BondLug);
            assert_eq!(end.shrink.is_some(), is_lug, "{name}: {end:?}");
            assert_eq!(end.torque.is_some(), end.kind == FittingKind::Lug, "{name}: {end:?}");
            if let Some((least, aim, most)) = end.torque {
                assert!(least <= aim && aim <= most, "{name}: {end:?}");
            }
        }
        // What is bought is what is used and more.
        for goods in &schedules.goods {
            assert!(goods.buy >= goods.needed && goods.needed > 0.0, "{name}: {goods:?}");
        }
        let count = |word: &str| -> f64 {
            schedules
                .goods
                .iter()
                .filter(|goods| goods.what.starts_with(word))
                .map(|goods| goods.needed)
                .sum()
        };
        let ends = |kind: FittingKind| schedules.ends.iter().filter(|end| end.kind == kind).count() as f64;
        assert_eq!(count("ring lug"), ends(FittingKind::Lug) + ends(FittingKind::BondLug), "{name}");
        assert_eq!(count("ferrule"), ends(FittingKind::Ferrule), "{name}");
    }
}

#[test]
fn crimps_torque_and_spare_fuses_of_the_small_system_by_hand() {
    let files = small().pack();
    let shown = |file: &str, keys: &[&str]| -> Vec<Vec<String>> {
        let (head, rows) = csv_rows(&files, file);
        let at: Vec<usize> =
            keys.iter().map(|key| head.iter().position(|name| name == key).unwrap()).collect();
        rows.iter().map(|row| at.iter().map(|ix| row[*ix].clone()).collect()).collect()
    };
    // Studs M5 (panel), M6 (both bars, the bond on the second), M8 (battery), 5/16 in (fuse); the table of studs has 2.5, 5.4, 7.6
    // and 11.3 N·m, which are 22.1, 47.8, 67.3 and 100.0 lbf·in (0.112985 N·m each).
    let torque = shown("torque.csv", &["stud", "count", "largest_lug", "torque_nm", "torque_lbf_in"]);
    let mut torque: Vec<String> = torque.iter().map(|row| row.join(" | ")).collect();
    torque.sort_unstable();
    let wanted = [
        "5/16 in | 1 | 2/0 AWG | 11.3 | 100",
        "M5 | 1 | 14 AWG | 2.5 | 22",
        "M6 | 3 | 2/0 AWG | 5.4 | 48",
        "M8 | 1 | 2/0 AWG | 7.6 | 67",
        "total | 6 |  |  | ",
    ];
    assert_eq!(torque, wanted);
    // A lug strips and shrinks by practice; its stud's torque is no source of that.
    for row in shown("crimps.csv", &["source"]) {
        assert!(!row[0].contains("torque"), "{row:?}");
    }
    // One class T fuse in use: one spare; four blade fuses: two.
    let spares = shown("spare-fuses.csv", &["family", "rating_a", "in_use", "spares"]);
    let wanted = [["blade", "7.5", "4", "2"], ["class-t", "150.0", "1", "1"], ["total", "", "5", "3"]];
    assert_eq!(spares, wanted);
}

#[test]
fn crimps_count_every_end_and_torque_every_stud() {
    for (name, derived) in all() {
        let files = derived.pack();
        let total = |file: &str| {
            let (head, rows) = csv_rows(&files, file);
            let at = head.iter().position(|name| name == "count").unwrap();
            rows.last().unwrap()[at].parse::<usize>().unwrap()
        };
        let ends = derived.schedules().ends;
        assert_eq!(total("crimps.csv"), ends.len(), "{name}");
        assert_eq!(total("torque.csv"), ends.iter().filter(|end| end.stud.is_some()).count(), "{name}");
    }
}

#[test]
fn a_board_gives_its_holes_to_schedule_goods_and_drills() {
    for name in EXAMPLES {
        let derived = Derived::example(name);
        let layout = board::place(&derived.system, &derived.library, &model::BoardIntent::default());
        let files = Pack::of(&Inputs { layout: Some(&layout), ..derived.inputs() }).unwrap().files;
        let (_, rows) = csv_rows(&files, "board-holes.csv");
        assert_eq!(rows.len(), layout.holes.len(), "{name}");
        for (row, hole) in rows.iter().zip(&layout.holes) {
            assert_eq!(row[2], hole.device, "{name}");
            assert_eq!(
                (row[3].as_str(), row[4].as_str()),
                (&*hole.x_mm.to_string(), &*hole.y_mm.to_string())
            );
            let diameter: f64 = row[5].parse().unwrap();
            assert!((diameter - hole.diameter.get() * 1000.0).abs() <= 0.05, "{name}");
        }
        let (_, tools) = csv_rows(&files, "tools.csv");
        let drills: String = tools
            .iter()
            .filter(|row| row[0] == "twist drills" || row[0] == "hole saw")
            .map(|row| row[1].clone() + ", ")
            .collect();
        for hole in &layout.holes {
            let size = format!("{} mm, ", (hole.diameter.get() * 10_000.0).round() / 10.0);
            assert!(drills.contains(&size), "{name}: {size} in {drills}");
        }
        // One screw or grommet a hole, and what nobody placed has no sheet.
        let (_, goods) = csv_rows(&files, "consumables.csv");
        let needed = goods
            .iter()
            .filter(|row| row[0].contains(" for a hole of "))
            .map(|row| row[2].parse::<f64>().unwrap())
            .sum::<f64>();
        assert_eq!(needed, layout.holes.len() as f64, "{name}");
        assert!(!derived.pack().iter().any(|file| file.name == "board-holes.csv"), "{name}");
    }
}

#[test]
fn supports_of_the_small_system_by_hand() {
    // ABYC E-11 (from memory): every 455 mm. Main 1.5 m: 3.30, so 4; fridge 3 m: 6.59, so 7; bond 1 m: 2.20, so 3.
    let goods = small().schedules().goods;
    let clips = goods.iter().find(|goods| goods.what.starts_with("cable clip")).unwrap();
    assert_eq!((clips.needed, clips.buy), (14.0, 16.0));
    assert_eq!(clips.source.0, "abyc-e11");
    // Both ends of both 2/0 AWG mains and of the 6 AWG bond are lugs: barrel and 25 mm, in steps of 5 mm.
    let shrink: f64 =
        goods.iter().filter(|goods| goods.what.starts_with("heat-shrink")).map(|goods| goods.needed).sum();
    // 2/0 AWG strips 21 mm: 46, so 50 mm, four times; 6 AWG strips 12 mm: 37, so 40 mm, twice; 14 AWG on the stud of the panel
    // strips 7 mm: 32, so 35 mm.
    assert!((shrink - (4.0 * 0.050 + 2.0 * 0.040 + 0.035)).abs() < 1e-9, "{shrink}");
}

#[test]
fn a_cable_to_the_roof_has_a_gland_that_clamps_it() {
    let mut seen = 0;
    for (name, derived) in all() {
        for hole in derived.schedules().holes.iter().filter(|hole| hole.lining == Lining::Gland) {
            let Some(cable) = hole.cable else {
                // A sheath without a part is measured first.
                assert!(hole.fit.is_none() && hole.hole.is_none(), "{name}: {hole:?}");
                continue;
            };
            let id = hole.fit.as_deref().and_then(|fit| fit.strip_prefix("gland.")).unwrap();
            let (_, gland) = derived.library.gland.iter().find(|(known, _)| known.as_str() == id).unwrap();
            assert!(gland.smallest <= cable && cable <= gland.largest, "{name}: {hole:?}");
            assert_eq!(hole.hole, Some(gland.hole), "{name}");
            assert!(hole.hole.unwrap() > cable, "{name}: {hole:?}");
            seen += 1;
        }
    }
    assert!(seen > 0);
    // A system in one zone has no hole.
    assert!(small().schedules().holes.is_empty());
}

#[test]
fn tools_cover_what_the_schedules_ask_for() {
    // The small system has lugs of 14, 6 and 2/0 AWG on studs M5, M6, M8 and 5/16 in: 2 to 15.25 N·m in the table of studs.
    let files = small().pack();
    let (_, rows) = csv_rows(&files, "tools.csv");
    let range = |tool: &str| {
        rows.iter()
            .find(|row| row[0] == tool)
            .map_or_else(|| panic!("{tool} in {rows:?}"), |row| row[1].clone())
    };
    assert_eq!(range("crimping tool with a die for each lug"), "14 AWG to 2/0 AWG");
    assert_eq!(range("torque wrench"), "2 N·m to 15.25 N·m");
    assert_eq!(range("stripper"), "14 AWG to 2/0 AWG");
    assert!(!rows.iter().any(|row| row[0] == "hole saw"));
}

#[test]
fn every_conductor_has_two_labels_that_lie_on_the_sheet() {
    let numbers = regex::Regex::new(r#"<text x="([0-9.]+)" y="([0-9.]+)""#).unwrap();
    for (name, derived) in all() {
        let rows = derived.schedules().cables;
        let labels = labels(&rows);
        let mut ends: BTreeMap<&str, u32> = BTreeMap::new();
        for label in &labels {
            *ends.entry(&label.conductor).or_default() += 1;
            assert!(label.lines()[0].starts_with(&format!("{}  ", label.run)));
        }
        assert!(ends.len() == rows.len() && ends.values().all(|count| *count == 2), "{name}");
        for grid in label_grids() {
            let pages = label_pages(&labels, &Labelling { grid: grid.clone(), with_code: true });
            let each = (grid.columns * grid.rows) as usize;
            assert_eq!(pages.len(), labels.len().div_ceil(each), "{name}");
            let codes: usize = pages.iter().map(|page| page.matches("<path ").count()).sum();
            assert_eq!(codes, labels.len(), "{name} {}", grid.name);
            for page in &pages {
                let tree = resvg::usvg::Tree::from_str(page, &resvg::usvg::Options::default()).unwrap();
                // 96 dots an inch is what the renderer takes for a millimetre's length.
                let width = f64::from(tree.size().width()) / 96.0 * 25.4;
                assert!((width - grid.page.0.get() * 1000.0).abs() < 0.1, "{name}: {width} mm");
                for found in numbers.captures_iter(page) {
                    let at = |ix: usize| found[ix].parse::<f64>().unwrap() / 1000.0;
                    assert!(at(1) < grid.page.0.get() && at(2) < grid.page.1.get(), "{name}");
                }
            }
        }
    }
}

#[test]
fn the_square_code_reads_as_the_run() {
    // Read back by an independent reader (`rqrr`) from the modules on the sheet.
    let derived = Derived::example("wren");
    let labels = labels(&derived.schedules().cables);
    let labelling = Labelling::usual(derived.system.rules).unwrap();
    let page = &label_pages(&labels[..1], &labelling)[0];
    let path = page.split("d=\"").nth(1).unwrap().split('"').next().unwrap();
    let dark: BTreeSet<(usize, usize)> = path
        .split('M')
        .filter(|bar| !bar.is_empty())
        .flat_map(|bar| {
            // `x yhWIDTH…`: dark modules side by side are one bar.
            let mut parts = bar.split('h');
            let mut at = parts.next().unwrap().split(' ').map(|n| n.parse::<usize>().unwrap());
            let (x, y) = (at.next().unwrap(), at.next().unwrap());
            let width: usize = parts.next().unwrap().split('v').next().unwrap().parse().unwrap();
            (x..x + width).map(move |x| (x, y))
        })
        .collect();
    let size = dark.iter().map(|(x, _)| x + 1).max().unwrap();
    let code = rqrr::SimpleGrid::from_func(size, |x, y| dark.contains(&(x, y)));
    let (_, content) = rqrr::Grid::new(code).decode().unwrap();
    assert_eq!(content, format!("run {} {}", labels[0].run, labels[0].conductor));
}

#[test]
fn names_on_labels_are_text_never_markup() {
    let page = text(&small().pack(), "labels-1.svg");
    assert!(!page.contains("<b>"), "{page}");
    let tree = resvg::usvg::Tree::from_str(&page, &resvg::usvg::Options::default());
    assert!(tree.is_ok());
}

#[test]
fn a_simulator_runs_the_deck_to_the_same_voltages() {
    for name in EXAMPLES {
        let derived = Derived::example(name);
        let deck = text(&derived.pack(), "system.cir");
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("system.cir");
        std::fs::write(&file, &deck).unwrap();
        let output = Command::new("ngspice").arg("-b").arg(&file).output();
        let output = output.unwrap_or_else(|error| {
            panic!("ngspice cannot be run ({error}). Install it with `apt-get install ngspice`")
        });
        let printed = String::from_utf8_lossy(&output.stdout);
        let theirs: BTreeMap<String, f64> = printed
            .lines()
            .filter_map(|line| line.split_once(" = "))
            .filter_map(|(node, volts)| Some((node.trim().to_owned(), volts.trim().parse().ok()?)))
            .collect();
        // Ours: the study of the system, by the names of terminals.
        let study = network::study(&derived.system);
        let scene = study.scene(network::Scene::EverythingOn).unwrap();
        let mut compared = 0;
        for line in deck.lines().filter_map(|line| line.strip_prefix("* n")) {
            let (node, rest) = line.split_once(" = ").unwrap();
            let (terminal, _) = rest.rsplit_once(", ").unwrap();
            let Some(at) = derived.system.find_terminal(terminal) else { continue };
            let ours = scene.volts[at.device][at.terminal];
            let (Some(ours), Some(theirs)) = (ours, theirs.get(&format!("n{node}"))) else { continue };
            assert!((ours.get() - theirs).abs() < 1e-3, "{name}: {terminal}: {ours} and {theirs} V");
            compared += 1;
        }
        assert!(compared > 10, "{name}: {compared} of\n{printed}");
    }
}

/// Ends and build order tell how lugs are stacked. That the largest current lies at the pad is common practice, no source; four
/// lugs on a stud are ABYC E-11.
#[test]
fn lugs_that_share_a_stud_have_a_place_and_the_build_order_says_it() {
    let mut shared = 0;
    for (name, derived) in all() {
        let stacks = rules::stacks(&derived.system, &derived.results);
        assert!(stacks.no_room.is_empty(), "{name}: {:?}", stacks.no_room);
        let files = derived.pack();
        let (head, rows) = csv_rows(&files, "ends.csv");
        let column = |id: &str| head.iter().position(|title| title == id).unwrap();
        let (conductor, device, terminal) = (column("conductor"), column("device"), column("terminal"));
        let place = column("place_on_stud");
        let order = pack::build_order(&derived.system, &derived.results, None);
        for stack in stacks.studs.iter().filter(|stack| stack.lugs.len() > 1) {
            shared += 1;
            assert!(stack.lugs.len() <= 4, "{name}");
            let at = derived.system.terminal_name(stack.at);
            let amps = |ix: usize| rules::steady_current(&derived.system, &derived.results, ix).get();
            assert!(stack.lugs.windows(2).all(|pair| amps(pair[0]) > amps(pair[1]) - 0.1), "{name}: {at}");
            let ids: Vec<&str> =
                stack.lugs.iter().map(|ix| derived.system.conductors[*ix].id.as_str()).collect();
            for (from_pad, id) in (1..).zip(&ids) {
                let row = rows
                    .iter()
                    .find(|row| row[conductor] == *id && format!("{}.{}", row[device], row[terminal]) == at)
                    .unwrap_or_else(|| panic!("{name}: no end of {id} at {at}"));
                assert!(row[place].contains(&format!("{from_pad} of {}", ids.len())), "{name}: {row:?}");
                assert_eq!(row[place].ends_with("at the pad"), from_pad == 1, "{name}: {row:?}");
                let joins = order.steps.iter().find(|step| {
                    let is_join = |act: &pack::Act| {
                        act.deed == pack::Deed::Join && act.on == *id && act.at.as_deref() == Some(&at)
                    };
                    step.acts.iter().any(is_join)
                });
                let step = joins.unwrap_or_else(|| panic!("{name}: nothing joins {id} at {at}"));
                let list = ids.join(", ");
                let told = step.lines.iter().any(|line| line.contains(&at) && line.contains(&list));
                assert!(told, "{name}: {} does not say how {at} is stacked: {:#?}", step.id, step.lines);
            }
        }
        // A lug alone on the one stud of its terminal has no place to tell.
        let alone = rows.iter().filter(|row| row[place].is_empty()).count();
        assert!(alone > 0, "{name}");
    }
    assert!(shared > 10, "{shared}");
}

/// Where a plan routes a run, its holes are those of the plan alone; the guess from zones stays for the runs that it does not route.
#[test]
fn a_run_on_the_plan_has_the_holes_of_the_plan_alone() {
    let derived = Derived::example("heron");
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/heron/intent.toml");
    let source =
        model::SourceText { name: "intent.toml".to_owned(), text: std::fs::read_to_string(path).unwrap() };
    let project = model::Project::read(source, model::library::builtin().clone()).unwrap();
    let vehicle = board::Vehicle::of(&project, &derived.system).unwrap();
    let guessed = derived.schedules().holes;
    let planned = derived.schedules().with_vehicle(&vehicle);
    let routed: BTreeSet<u32> = vehicle.cables.iter().map(|cable| cable.number).collect();
    let is_routed = |hole: &&pack::HoleRow| hole.run.is_some_and(|run| routed.contains(&run));
    // The guess would have bored for runs that the plan routes; none of these is left, and every other one is.
    assert!(guessed.iter().any(|hole| is_routed(&hole)));
    assert!(!planned.holes.iter().any(|hole| is_routed(&hole)));
    let rest: Vec<_> = guessed.iter().filter(|hole| !is_routed(hole)).cloned().collect();
    assert_eq!(planned.holes, rest);
    // What the holes of the plan take is bought with them, a gland by its part.
    for hole in &vehicle.holes {
        let row = planned.goods.iter().find(|row| row.what == hole.fitting());
        let row = row.unwrap_or_else(|| panic!("{} is not bought", hole.fitting()));
        assert_eq!(row.what.starts_with("gland"), row.part.starts_with("gland."), "{row:?}");
    }
    assert_eq!(
        vehicle.holes.iter().any(|hole| hole.is_sealed),
        planned.goods.iter().any(|row| row.what == "sealant for outside walls")
    );
}
