//! The one-line diagram: nothing overlaps, nothing is left out, names are data, the same system gives the same bytes.
//! Geometry is checked on the boxes of the layout, for the examples and for systems of 6 to 300 branch circuits.
//! Start at [`systems`].

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::Path;

use drawing::scene::{Rect, Scene, Wire};
use drawing::{SAFETY, Sheet, one_line, to_png};
use model::{Project, SourceText, Spec, System, TerminalRef};

fn derived(name: &str, text: String) -> System {
    let source = SourceText { name: "intent.toml".to_owned(), text };
    match Project::read(source, model::library::builtin().clone()) {
        Ok(project) => derive::derive(&project),
        Err(problems) => panic!("{name}: {problems:#?}"),
    }
}

fn example(name: &str) -> System {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name).join("intent.toml");
    derived(
        name,
        std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display())),
    )
}

/// A boat with everything: four batteries, two arrays, engine, shore, two panels, a converter, and many circuits.
fn made_up(circuits: usize) -> System {
    made_up_on(4, circuits)
}

/// The same on a bank of so many strings: behind four, no panel breaks the fault and every circuit has a holder of its own.
fn made_up_on(strings: u32, circuits: usize) -> System {
    let mut text = String::from(
        "[brief]\nname = \"Made up\"\ncraft = \"boat\"\nrules = \"iec\"\nvoltage = \"24 V\"\n\
         [bank]\nchemistry = \"lfp\"\npart = \"lfp-24v-200ah\"\nparallel = 4\n\
         [engine]\ncharging = \"dc-dc\"\npart = \"alternator-24v-100a\"\nvoltage = \"24 V\"\n\
         own_load = \"10 A\"\ndriving = \"1.5 h/day\"\nstart_capacity = \"110 Ah\"\nlength = \"4 m\"\n\
         [solar.fore]\nmodule = \"module-370w\"\ncount = 2\nlength = \"6 m\"\n\
         [solar.aft]\nmodule = \"module-370w\"\ncount = 2\nlength = \"8 m\"\n\
         [shore]\ncurrent = \"16 A\"\nlength = \"3 m\"\n\
         [inverter]\nkind = \"inverter-charger\"\n\
         [panels.fore]\ntitle = \"Fore panel\"\n[panels.aft]\ntitle = \"Aft panel\"\n\
         [panels.low]\ntitle = \"12 V panel\"\nvoltage = \"12 V\"\n",
    );
    for index in 0..circuits {
        let (part, panel) = match index % 7 {
            0 => ("water-pump", "panel = \"aft\""),
            1 => ("cabin-fan", "panel = \"fore\""),
            2 => ("router", "panel = \"low\""),
            3 => ("laptop-ac", ""),
            4 => ("usb-outlet", "panel = \"fore\""),
            5 => ("reading-light", "panel = \"aft\""),
            _ => ("led-spot", "panel = \"fore\""),
        };
        let title =
            ["Pump", "Fan beside the forward bunk", "Router", "Laptop charging in the saloon", "USB outlet"];
        let title = title[index % title.len()];
        let _ = writeln!(
            text,
            "[loads.load-{index}]\ntitle = \"{title} {index}\"\npart = \"{part}\"\nlength = \"{} m\"\n{panel}",
            2 + index % 9
        );
    }
    derived("made up", text.replace("parallel = 4", &format!("parallel = {strings}")))
}

/// Other ways to charge and to make alternating current.
fn variants() -> Vec<(String, System)> {
    let loads = "[loads.fridge]\npart = \"fridge-90l\"\nlength = \"3 m\"\n\
        [loads.pump]\npart = \"water-pump\"\nlength = \"4 m\"\n\
        [loads.laptop]\npart = \"laptop-ac\"\nlength = \"3 m\"\n";
    let engine = |way: &str| {
        format!(
            "[engine]\ncharging = \"{way}\"\npart = \"alternator-12v-90a\"\nvoltage = \"12 V\"\nown_load = \"20 A\"\n\
             driving = \"1 h/day\"\nstart_capacity = \"95 Ah\"\nlength = \"4 m\"\n"
        )
    };
    let brief = |craft: &str, volts: u32, rules: &str| {
        format!(
            "[brief]\nname = \"Variant\"\ncraft = \"{craft}\"\nrules = \"{rules}\"\nvoltage = \"{volts} V\"\n"
        )
    };
    let shore = "[shore]\ncurrent = \"16 A\"\nlength = \"3 m\"\nhours = \"8 h/day\"\n";
    let generator = "[generator]\npart = \"generator-230v-3000va\"\nhours = \"1 h/day\"\nlength = \"5 m\"\n";
    let texts = [
        (
            "relay, charger, transfer switch",
            format!(
                "{}[bank]\nchemistry = \"agm\"\npart = \"agm-12v-100ah\"\nparallel = 2\n{}{shore}[charger]\n\
                 [inverter]\nkind = \"inverter\"\n{loads}",
                brief("van", 12, "iec"),
                engine("relay")
            ),
        ),
        (
            "two in series, three in parallel, shore and generator",
            format!(
                "{}[bank]\nchemistry = \"agm\"\npart = \"agm-12v-100ah\"\nseries = 2\nparallel = 3\n{shore}{generator}\
                 [inverter]\nkind = \"inverter-charger\"\n{loads}",
                brief("workshop", 24, "iec")
            ),
        ),
        (
            "four in series, generator and charger",
            format!(
                "{}[bank]\nchemistry = \"lfp\"\npart = \"lfp-12v-100ah\"\nseries = 4\n{generator}[charger]\n\
                 [inverter]\nkind = \"inverter\"\n{loads}",
                brief("hut", 48, "iec")
            ),
        ),
        (
            "two in parallel, charger only",
            format!(
                "{}[bank]\nchemistry = \"lfp\"\npart = \"lfp-12v-100ah\"\nparallel = 2\n{}[shore]\ncurrent = \"30 A\"\n\
                 length = \"3 m\"\n[charger]\n{loads}",
                brief("trailer", 12, "na"),
                engine("dc-dc")
            ),
        ),
    ];
    texts.into_iter().map(|(name, text)| (name.to_owned(), derived(name, text))).collect()
}

/// A system with ends of conductors thrown about, the same for the same seed: nothing that a person could build, yet
/// everything must still be drawn without a clash.
fn thrown(seed: u64) -> System {
    let mut system = if seed.is_multiple_of(2) { made_up(20) } else { example("heron") };
    let mut state = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
    let mut next = |below: usize| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 33) as usize % below
    };
    for _ in 0..8 {
        let conductor = next(system.conductors.len());
        let device = next(system.devices.len());
        let terminal = next(system.devices[device].terminals.len());
        system.conductors[conductor].to = TerminalRef { device, terminal };
    }
    system
}

/// Every system that the geometry is checked on.
fn systems() -> Vec<(String, System)> {
    let mut all: Vec<(String, System)> =
        ["heron", "teal", "wren", "marten", "faulty"].map(|name| (name.to_owned(), example(name))).into();
    all.extend([6, 20, 60, 300].map(|count| (format!("made up, {count}"), made_up(count))));
    all.push(("odd".to_owned(), odd()));
    all.extend(variants());
    all.extend((1..=40).map(|seed| (format!("thrown {seed}"), thrown(seed))));
    let mut bare = made_up(20);
    bare.devices.retain(|device| !matches!(device.spec, Spec::Busbar(_)));
    bare.conductors.clear();
    bare.circuits.clear();
    all.push(("no conductor at all".to_owned(), bare));
    all
}

/// Moves the end of a conductor at a device to another terminal.
fn move_end(system: &mut System, conductor: &str, to: &str) {
    let target = system.find_terminal(to).unwrap_or_else(|| panic!("{to}"));
    let found = system.conductors.iter_mut().find(|c| c.id == conductor);
    found.unwrap_or_else(|| panic!("{conductor}")).to = target;
}

/// Built otherwise than derived, in every way that the layout has no place for.
fn odd() -> System {
    let mut system = made_up(20);
    // A load that returns to the hull, another whose return goes straight to a battery, past the shunt.
    move_end(&mut system, "load-0.negative", "chassis.bond");
    move_end(&mut system, "load-1.negative", "bank-3.negative");
    // A load fed straight from a battery post.
    let battery = system.find_terminal("bank-2.positive").expect("the second battery");
    let link = system.conductors.iter().position(|c| c.id == "load-7.jumper").expect("the link of a fuse");
    system.conductors[link].from = battery;
    system.conductors[link].is_internal = false;
    system.conductors[link].number = 901;
    // Two panels joined a second time, so that the lines form a ring.
    let ring = TerminalRef { ..system.find_terminal("fore.positive").expect("fore panel") };
    let mut extra = system.conductors[link].clone();
    extra.id = "ring.positive".to_owned();
    extra.number = 902;
    extra.from = ring;
    extra.to = system.find_terminal("aft.positive").expect("aft panel");
    system.conductors.push(extra.clone());
    // A link across the bank, and a third conductor between two neighbours.
    extra.id = "across.positive".to_owned();
    extra.number = 903;
    extra.from = system.find_terminal("bank-1.positive").expect("first battery");
    extra.to = system.find_terminal("bank-4.positive").expect("fourth battery");
    system.conductors.push(extra.clone());
    // A device joined to nothing, with a name that is markup.
    let mut lone = system.devices[system.find("load-5").expect("a load")].clone();
    lone.id = "lone".to_owned();
    lone.title =
        "<b>\"A\" & 'B'</b> \u{1}電池 with a name that is far too long for the place that it has".to_owned();
    system.devices.push(lone);
    system
}

/// The pieces of a wire as boxes without thickness.
fn pieces(wire: &Wire) -> impl Iterator<Item = Rect> + '_ {
    wire.points.windows(2).map(|pair| {
        let (a, b) = (pair[0], pair[1]);
        Rect { x: a.x.min(b.x), y: a.y.min(b.y), w: (a.x - b.x).abs(), h: (a.y - b.y).abs() }
    })
}

/// Whether a level or upright piece of wire runs inside a box.
fn runs_through(piece: &Rect, rect: &Rect) -> bool {
    let slack = 0.05;
    piece.x < rect.right() - slack
        && piece.right() > rect.x + slack
        && piece.y < rect.bottom() - slack
        && piece.bottom() > rect.y + slack
}

fn clashes(scene: &Scene) -> Vec<String> {
    let mut found = Vec::new();
    let texts: Vec<(Rect, String)> = scene
        .labels
        .iter()
        .filter(|label| label.lines.iter().any(|line| !line.text.is_empty() || !line.lead.is_empty()))
        .map(|label| {
            (label.rect, label.lines.iter().map(|l| format!("{} {}|", l.lead, l.text)).collect::<String>())
        })
        .collect();
    for (index, (rect, text)) in texts.iter().enumerate() {
        for (other, twin) in &texts[index + 1..] {
            if rect.overlaps(other, 0.05) {
                found.push(format!("text over text: {text} / {twin}"));
            }
        }
        for symbol in scene.symbols.iter().filter(|symbol| symbol.rect.overlaps(rect, 0.05)) {
            found.push(format!("text over symbol: {text} / {:?}", symbol.glyph));
        }
    }
    for (index, symbol) in scene.symbols.iter().enumerate() {
        for other in scene.symbols[index + 1..].iter().filter(|other| other.rect.overlaps(&symbol.rect, 0.05))
        {
            found.push(format!("symbol over symbol: {:?} / {:?}", symbol.glyph, other.glyph));
        }
    }
    for wire in &scene.wires {
        for piece in pieces(wire) {
            if piece.w > 0.01 && piece.h > 0.01 {
                found.push(format!("a slanting line: {:?}", wire.points));
            }
            for symbol in scene.symbols.iter().filter(|symbol| runs_through(&piece, &symbol.rect)) {
                found.push(format!("line through symbol: {:?} / {:?} {piece:?}", symbol.glyph, symbol.rect));
            }
            for (_, text) in texts.iter().filter(|(rect, _)| runs_through(&piece, rect)) {
                found.push(format!("line through text: {text} {piece:?}"));
            }
        }
    }
    found
}

#[test]
fn nothing_overlaps() {
    for (name, system) in systems() {
        let sheet = Sheet::of(&system);
        let found = clashes(&sheet.scene);
        assert!(found.is_empty(), "{name}: {} clashes\n{:#?}", found.len(), &found[..found.len().min(12)]);
        let found = clashes(&sheet.furniture);
        assert!(found.is_empty(), "{name}, furniture: {found:#?}");
    }
}

#[test]
fn the_check_of_overlaps_can_fail() {
    let mut scene = Sheet::of(&example("wren")).scene;
    let label = scene.labels[0].clone();
    scene.labels.push(label);
    let symbol = scene.symbols[0].clone();
    let (x, y) = (symbol.rect.x, symbol.rect.y + symbol.rect.h / 2.0);
    let points = [drawing::scene::Point { x: x - 1.0, y }, drawing::scene::Point { x: x + 20.0, y: y + 1.0 }];
    scene.symbols.push(symbol);
    scene.wire(&points, drawing::scene::Stroke::Direct, Vec::new());
    let found = clashes(&scene).join("\n");
    for what in ["text over text", "symbol over symbol", "line through symbol", "a slanting line"] {
        assert!(found.contains(what), "{what} is not found:\n{found}");
    }
}

#[test]
fn everything_stands_inside_its_frame() {
    for (name, system) in systems() {
        let sheet = Sheet::of(&system);
        let (frame, strip) = (sheet.frames[0], sheet.frames[1]);
        let drawing = sheet.scene.bounds();
        assert!(drawing.x >= frame.x && drawing.right() <= frame.right(), "{name}: {drawing:?}");
        assert!(drawing.y >= frame.y && drawing.bottom() <= strip.y, "{name}: {drawing:?}");
        for rect in sheet.furniture.boxes() {
            let is_inside = sheet.frames[1..].iter().any(|cell| {
                rect.x >= cell.x
                    && rect.right() <= cell.right()
                    && rect.y >= cell.y
                    && rect.bottom() <= cell.bottom()
            });
            assert!(is_inside, "{name}: {rect:?} stands in no cell of the strip");
        }
    }
}

#[test]
fn every_device_and_every_run_is_drawn() {
    for (name, system) in systems() {
        let svg = one_line(&system);
        let tree = roxmltree::Document::parse(&svg).unwrap_or_else(|error| panic!("{name}: {error}"));
        let of = |key: &str| -> BTreeSet<String> {
            let values = tree.descendants().filter_map(|node| node.attribute(key));
            values.flat_map(str::split_whitespace).map(str::to_owned).collect()
        };
        let (devices, conductors) = (of("data-device"), of("data-conductor"));
        for device in &system.devices {
            assert!(devices.contains(&device.id), "{name}: device {} is not drawn", device.id);
        }
        for conductor in &system.conductors {
            assert!(conductors.contains(&conductor.id), "{name}: conductor {} is not drawn", conductor.id);
        }
        // Run numbers are the bold words in the accent colour, several of them joined by strokes.
        let numbers: BTreeSet<&str> = tree
            .descendants()
            .filter(|node| node.attribute("class") == Some("b a"))
            .filter_map(|node| node.text())
            .flat_map(|text| text.split('/'))
            .collect();
        for conductor in system.conductors.iter().filter(|conductor| conductor.number > 0) {
            let number = conductor.number.to_string();
            assert!(
                numbers.contains(number.as_str()),
                "{name}: run {number} ({}) has no number",
                conductor.id
            );
        }
    }
}

#[test]
fn each_device_is_one_symbol_on_the_sheet() {
    for (name, system) in systems() {
        let sheet = Sheet::of(&system);
        for (ix, device) in system.devices.iter().enumerate() {
            let symbols = sheet.scene.symbols.iter().filter(|symbol| symbol.device == Some(ix)).count();
            let is_bus = sheet.scene.wires.iter().any(|wire| wire.device == Some(ix));
            assert!(symbols == 1 || (symbols == 0 && is_bus), "{name}: {} has {symbols} symbols", device.id);
        }
    }
}

#[test]
fn print_is_never_small() {
    for (name, system) in systems() {
        let svg = one_line(&system);
        let tree = roxmltree::Document::parse(&svg).unwrap_or_else(|error| panic!("{name}: {error}"));
        let root = tree.root_element();
        let width: f64 =
            root.attribute("width").and_then(|w| w.strip_suffix("mm")?.parse().ok()).expect("a width");
        let view: Vec<f64> =
            root.attribute("viewBox").expect("a view").split(' ').filter_map(|n| n.parse().ok()).collect();
        assert_eq!(view[2], width, "{name}: a unit of the drawing is a millimetre of paper");
        for node in tree.descendants().filter(|node| node.has_tag_name("text")) {
            let size: f64 = node.attribute("font-size").and_then(|size| size.parse().ok()).expect("a size");
            assert!(size >= 2.2, "{name}: {:?} is {size} mm", node.text());
        }
    }
}

#[test]
fn the_safety_note_is_on_every_sheet() {
    for (name, system) in systems() {
        let svg = one_line(&system);
        let tree = roxmltree::Document::parse(&svg).unwrap_or_else(|error| panic!("{name}: {error}"));
        let words: String = tree
            .descendants()
            .filter(|n| n.has_tag_name("text"))
            .filter_map(|n| n.text())
            .collect::<Vec<_>>()
            .join(" ");
        assert!(words.contains(SAFETY), "{name}: {words}");
        assert!(words.contains(&system.name), "{name}: the title block names the project");
    }
}

#[test]
fn the_same_system_gives_the_same_bytes() {
    for (name, system) in systems() {
        assert_eq!(one_line(&system), one_line(&system), "{name}");
    }
}

#[test]
fn small_projects_get_small_sheets() {
    assert_eq!(Sheet::of(&example("wren")).name, "A4");
    for name in ["heron", "teal", "marten"] {
        assert_eq!(Sheet::of(&example(name)).name, "A3", "{name}");
    }
    let many = Sheet::of(&made_up_on(2, 60));
    assert!(["A3", "A2"].contains(&many.name.as_str()), "60 circuits are on {}", many.name);
}

#[test]
fn names_are_text_never_markup() {
    let svg = one_line(&odd());
    assert!(!svg.contains("<b>"), "markup from a name");
    let tree = roxmltree::Document::parse(&svg).expect("well-formed");
    let has = tree
        .descendants()
        .any(|node| node.attribute("aria-label").is_some_and(|label| label.contains("<b>\"A\" & 'B'</b>")));
    assert!(has, "the name is there in full for a screen reader");
}

#[test]
fn pictures_have_ink_in_every_quarter() {
    let out = std::env::var_os("DRAWING_OUT").map(std::path::PathBuf::from);
    for (name, system) in systems() {
        let svg = one_line(&system);
        let png = to_png(&svg, 2400).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert_eq!(png.get(1..4), Some(&b"PNG"[..]), "{name}");
        if let Some(out) = &out {
            let file = out.join(name.replace([' ', ','], "-"));
            std::fs::write(file.with_extension("png"), &png).expect("a picture to look at");
            std::fs::write(file.with_extension("svg"), &svg).expect("a drawing to look at");
        }
    }
    assert!(to_png("no drawing", 100).is_err());
    assert!(to_png(&one_line(&example("wren")), 0).is_err());
}
