//! The story of a short circuit: by hand where it is small, by what must hold where it is large.
//! Published facts: the gates of ISO 8820-3 for blade fuses (from memory), the resistance of copper (ASTM B258 areas and
//! 1.7241 µΩ·cm at 20 °C, IEC 60028).

mod hand_built;

use std::collections::BTreeSet;

use hand_built::Sound;
use model::{Pole, Project, SourceText, Spec, System, TerminalRef};
use network::Results;
use rules::{Case, Edge, FaultStory, Via, fault_places, fault_story};

const EXAMPLES: [&str; 4] = [
    include_str!("../../../examples/heron/intent.toml"),
    include_str!("../../../examples/teal/intent.toml"),
    include_str!("../../../examples/wren/intent.toml"),
    include_str!("../../../examples/marten/intent.toml"),
];

fn derived(text: &str) -> (System, Results) {
    let source = SourceText { name: "intent.toml".to_owned(), text: text.to_owned() };
    let project = Project::read(source, model::library::builtin().clone()).expect("reads");
    let system = derive::derive(&project);
    let results = network::study(&system);
    (system, results)
}

fn at(system: &System, name: &str) -> TerminalRef {
    let all = system.devices.iter().enumerate().flat_map(|(device, data)| {
        (0..data.terminals.len()).map(move |terminal| TerminalRef { device, terminal })
    });
    all.into_iter().find(|at| system.terminal_name(*at) == name).unwrap_or_else(|| panic!("no {name}"))
}

fn story(system: &System, results: &Results, name: &str) -> FaultStory {
    fault_story(&Case::new(system, results, None), at(system, name))
        .unwrap_or_else(|| panic!("{name} is fed"))
}

fn dark(story: &FaultStory) -> BTreeSet<&str> {
    story.dark.iter().map(|dark| dark.device.as_str()).collect()
}

/// One battery, 13.5 V charged, 3,000 A at its posts, so 4.5 mΩ; 14 AWG (2.08 mm²) 4 m there and back, 6 AWG (13.3 mm²) 2 m,
/// 1/0 AWG (53.5 mm²) 1.8 m at 0.017241 Ω·mm²/m: 33.2 + 2.6 + 0.6 + 4.5 = 40.9 mΩ, so 330 A less what three fuses and strands
/// take. That is over 6 times the 10 A of the blade fuse, where ISO 8820-3 wants it open within 0.1 s.
#[test]
fn a_short_at_a_load_opens_its_own_fuse_and_darkens_it_alone() {
    let sound = Sound::new();
    let results = network::study(&sound.system);
    let told = story(&sound.system, &results, "fridge.positive");
    let [source] = told.sources.as_slice() else { panic!("one battery: {:#?}", told.sources) };
    let amps = source.most.expect("known").get();
    assert!((230.0..=330.0).contains(&amps), "{amps} A");
    let opens = source.opens.as_ref().expect("opens");
    assert_eq!(opens.device, "fridge.fuse");
    let times = opens.at_most.expect("a fuse has times");
    assert_eq!(times.latest_s, Some(0.1));
    assert!(times.earliest_s < 0.02);
    let way: Vec<&str> = source.way.iter().map(|step| step.id.as_str()).collect();
    assert_eq!(way.first(), Some(&"main.link"));
    assert_eq!(way.last(), Some(&"fridge.positive"));
    assert_eq!(dark(&told), BTreeSet::from(["fridge"]));
    assert!(told.still.is_empty() && told.dangers.is_empty(), "{:?}", told.dangers);
    // By the adiabatic law for copper from 105 °C to 160 °C (IEC 60364-5-54, annex A): 226 x √ln(394.5 / 339.5) = 87.6 A√s/mm²,
    // so 2.08 mm² stands 33,200 A²s; 330 A for 0.1 s is under 11,000 A²s.
    let conductor =
        told.conductors.iter().find(|conductor| conductor.id == "fridge.positive").expect("carries");
    assert!(conductor.heat_a2s.is_some_and(|heat| heat < 11_000.0) && conductor.stands == Some(true));
    assert!((conductor.stands_a2s / 33_200.0 - 1.0).abs() < 0.02, "{}", conductor.stands_a2s);
    assert!(
        told.conductors.iter().any(|conductor| conductor.id == "fridge.negative"),
        "the return carries it too"
    );
}

/// 35 A of blade stand before 300 A of class T: both bands promise no more than their last gate, and the smaller melts first.
#[test]
fn the_smaller_fuse_opens_before_the_larger_one_above_it() {
    let (system, results) = derived(EXAMPLES[0]);
    let told = story(&system, &results, "house.fuse.out");
    assert!(told.opens.iter().all(|opening| opening.device == "house.fuse"), "{:#?}", told.opens);
    let bank = told.sources.iter().find(|source| source.device == "bank-1").expect("the bank feeds it");
    assert!(
        bank.may_open_too.iter().any(|other| other.device == "main.fuse"),
        "the class T fuse may open as soon"
    );
}

#[test]
fn a_short_between_the_battery_and_its_fuse_is_told_as_a_danger() {
    let sound = Sound::new();
    let results = network::study(&sound.system);
    let told = story(&sound.system, &results, "main.fuse.in");
    assert!(told.opens.is_empty());
    assert!(
        told.dangers.iter().any(|danger| danger.contains("nothing interrupts bank-1")),
        "{:?}",
        told.dangers
    );
    assert_eq!(dark(&told), BTreeSet::from(["fridge", "panel", "positive-bar"]));
}

#[test]
fn a_breaker_opens_by_its_makers_curve() {
    let mut sound = Sound::new();
    let mut part = model::library::builtin().breaker.values().next().expect("a breaker").clone();
    part.current = quantity::Amps::new(10.0);
    let fuse = sound.system.devices.iter_mut().find(|device| device.id == "fridge.fuse").expect("there");
    let breaker =
        model::BreakerAt { part, distance: quantity::Metres::zero(), panel: None, role: "branch".to_owned() };
    fuse.spec = Spec::Breaker(breaker);
    let results = network::study(&sound.system);
    let told = story(&sound.system, &results, "fridge.positive");
    let [opening] = told.opens.as_slice() else { panic!("{:#?}", told.opens) };
    assert!(opening.is_breaker && opening.device == "fridge.fuse" && opening.at_most.is_none());
    assert!(opening.words.contains("not computed"), "{}", opening.words);
    assert!(told.conductors.iter().all(|conductor| conductor.stands.is_none()), "no time, so no heat");
    assert_eq!(dark(&told), BTreeSet::from(["fridge"]));
}

/// On every place of every example: what opens lies on the way; what gives, gives what the study says in all; every load is dark
/// or goes on; what is dark is cut off by what opened or hangs on the fault.
#[test]
fn what_opens_lies_on_the_way_and_every_load_is_dark_or_goes_on() {
    for text in EXAMPLES {
        let (system, results) = derived(text);
        let case = Case::new(&system, &results, None);
        let loads: BTreeSet<&str> = system
            .devices
            .iter()
            .filter(|device| matches!(device.spec, Spec::Load(_)))
            .map(|device| device.id.as_str())
            .collect();
        let places = fault_places(&case);
        assert!(places.len() > 10);
        for place in places {
            let told = fault_story(&case, place.at).expect("fed");
            assert!(!told.sources.is_empty(), "{} is fed by something", place.place);
            for source in &told.sources {
                let on_way = |id: &str| source.way.iter().any(|step| !step.is_conductor && step.id == id);
                let opens = source.opens.iter().chain(&source.opens_at_least).chain(&source.may_open_too);
                for opening in opens {
                    assert!(on_way(&opening.device), "{} at {}", opening.device, place.place);
                }
                assert!(source.opens.is_some() || !told.dangers.is_empty(), "{}", place.place);
            }
            let gone = told.dark.iter().filter(|dark| dark.is_load).map(|dark| dark.device.as_str());
            let still = told.still.iter().map(|still| still.device.as_str());
            let all: Vec<&str> = gone.chain(still).collect();
            assert_eq!(all.len(), loads.len(), "{}: each once", place.place);
            assert_eq!(all.into_iter().collect::<BTreeSet<_>>(), loads, "{}", place.place);
            // Whatever is dark cannot be reached from a battery but through what opened, or hangs on the fault itself.
            let opened = |via: Via| match via {
                Via::Device(ix) => told.opens.iter().any(|opening| opening.device == system.devices[ix].id),
                Via::Conductor(_) => false,
            };
            let positive = |node| case.pole(case.graph.terminal(node)) == Some(Pole::Positive);
            let may = |_, edge: &Edge| !opened(edge.via) && positive(edge.to);
            let posts = |ix: usize| case.terminal(ix, "positive");
            let batteries = (0..system.devices.len())
                .filter(|ix| matches!(system.devices[*ix].spec, Spec::Battery(_)))
                .filter_map(posts);
            let shorted = case.graph.reach(&[place.at], may);
            let starts: Vec<TerminalRef> =
                batteries.filter(|at| case.graph.node(*at).is_some_and(|node| !shorted[node])).collect();
            let fed = case.graph.reach(&starts, |_, edge| may(0, edge) && !shorted[edge.to]);
            for (ix, device) in system.devices.iter().enumerate() {
                let Some(node) = posts(ix).and_then(|at| case.graph.node(at)) else { continue };
                let is_dark = told.dark.iter().any(|dark| dark.device == device.id);
                if matches!(device.spec, Spec::Load(_)) && fed[node] {
                    assert!(!is_dark, "{} is fed, with the fault at {}", device.id, place.place);
                }
                if shorted[node] && matches!(device.spec, Spec::Load(_)) {
                    assert!(is_dark, "{} hangs on the fault at {}", device.id, place.place);
                }
            }
            // The sum of what the sources give is what the study finds, which is an upper bound.
            if let Some(most) = place.most {
                let sum: f64 =
                    told.sources.iter().filter_map(|source| source.most).map(|amps| amps.get()).sum();
                assert!(sum <= most.get() * 1.001 + 1.0, "{}: {sum} A of {most}", place.place);
            }
        }
    }
}

/// What stands before a fuse darkens what stands behind it, and more.
#[test]
fn a_place_before_a_fuse_darkens_no_less_than_one_behind_it() {
    for text in EXAMPLES {
        let (system, results) = derived(text);
        let case = Case::new(&system, &results, None);
        for device in system.devices.iter().filter(|device| rules::protective(device).is_some()) {
            let name = |end: &str| format!("{}.{end}", device.id);
            let places = fault_places(&case);
            let find = |end: &str| places.iter().find(|place| place.place == name(end));
            let (Some(before), Some(behind)) = (find("in"), find("out")) else { continue };
            let (before, behind) =
                (fault_story(&case, before.at).expect("fed"), fault_story(&case, behind.at).expect("fed"));
            // A fuse between two sources has them on both sides; which side is before is then no question.
            if behind.opens.iter().any(|opening| opening.device == device.id)
                && !behind.opens.is_empty()
                && before.opens.iter().all(|opening| opening.device != device.id)
            {
                assert!(dark(&behind).is_subset(&dark(&before)), "{}", device.id);
            }
        }
    }
}

#[test]
fn the_same_place_gives_the_same_story() {
    let (system, results) = derived(EXAMPLES[0]);
    let case = Case::new(&system, &results, None);
    for place in fault_places(&case) {
        assert_eq!(fault_story(&case, place.at), fault_story(&case, place.at));
    }
}
