//! The search over sizes against trying everything: random small libraries, shares, threads, limits.
#![allow(clippy::unwrap_used)] // a test may panic

use energy::Progress;
use energy::sizes::{Found, Point, Search, Share, Sizes};
use model::{Library, Project, SourceText};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

/// A van with few loads; `more` goes into the brief, `array` into the array.
fn text(more: &str, array: &str, loads: &str) -> String {
    format!(
        r#"
[brief]
name = "Trial"
craft = "van"
rules = "iec"
voltage = "12 V"
place = {{ latitude = "48 N", longitude = "9 E", altitude = "400 m" }}
{more}

[zones.inside]
kind = "living"
coldest = "4 °C"
hottest = "36 °C"

[bank]
chemistry = "lfp"

[engine]
charging = "dc-dc"
alternator = "140 A"
driving = "0.3 h/day"

[solar.roof]
module = "module-100w"
count = 1
{array}

[loads.fridge]
part = "fridge-90l"

[loads.lights]
part = "led-spot"
count = 4
hours = "4 h/day"
{loads}
"#
    )
}

fn project(text: &str, library: Library) -> Project {
    let source = SourceText { name: "intent.toml".to_owned(), text: text.to_owned() };
    Project::read(source, library).unwrap_or_else(|problems| panic!("{problems:?}"))
}

/// The built-in library with some batteries, modules and DC-DC chargers only, prices and masses shaken.
fn shaken(seed: u64) -> Library {
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut library = model::library::builtin().clone();
    let kept =
        |count: u64, of: usize, chance: &mut Xoshiro256PlusPlus| chance.next_u64() % (of as u64) < count;
    let (batteries, modules, chargers) = (library.battery.len(), library.module.len(), library.dcdc.len());
    library.battery.retain(|id, _| kept(24, batteries, &mut chance) || id.as_str() == "lfp-12v-100ah");
    library.module.retain(|id, _| kept(5, modules, &mut chance) || id.as_str() == "module-100w");
    library.dcdc.retain(|id, _| kept(12, chargers, &mut chance) || id.as_str() == "dcdc-12v-12v-20a");
    let mut about_one = || 0.6 + 0.8 * (chance.next_u64() >> 11) as f64 / (1_u64 << 53) as f64;
    for battery in library.battery.values_mut() {
        battery.mass = battery.mass * about_one();
        let by = about_one();
        battery.price = battery.price.iter().map(|price| *price * by).collect();
    }
    for module in library.module.values_mut() {
        module.mass = module.mass * about_one();
    }
    library
}

const SMALL: &str = "space = [\"1.7 m\", \"1.1 m\"]";

fn searched(search: &Search<'_>, share: Option<Share>) -> Found {
    search.run(share, &Progress::default()).unwrap()
}

fn told(search: &Search<'_>, found: &Found) -> Sizes {
    search.tell(found, &|_, _| None)
}

fn bytes(sizes: &Sizes) -> String {
    serde_json::to_string(sizes).unwrap()
}

/// Every combination run through every year by the whole hour loop, and the front by its definition.
fn by_trying_all(search: &Search<'_>) -> Vec<Point> {
    let all: Vec<Point> = search
        .all()
        .iter()
        .filter(|trial| search.whole_system(trial.at).is_ok())
        .map(|trial| Point { trial: *trial, ran_out: search.count_whole(trial.at) })
        .collect();
    let key = |p: &Point| (p.trial.worth.cents, p.trial.worth.grams, p.ran_out);
    let beats = |a: &Point, b: &Point| {
        let (x, y) = (key(a), key(b));
        x.0 <= y.0 && x.1 <= y.1 && x.2 <= y.2 && (x != y || a.trial.at < b.trial.at)
    };
    all.iter().filter(|b| !all.iter().any(|a| beats(a, b))).copied().collect()
}

// The definition of a Pareto front over all points, each with `run()` over the same drawn years.
#[test]
fn the_search_finds_what_trying_everything_finds() {
    let vital = "\n[loads.alarm]\npart = \"smoke-co-alarm\"\nimportance = \"vital\"\n";
    let spare = "\n[loads.fan]\npart = \"cabin-fan\"\nhours = \"8 h/day\"\nimportance = \"spare\"\n";
    let cases =
        [(1, "season = \"summer\"", ""), (2, "", vital), (3, "", spare), (4, "season = \"winter\"", "")];
    let (mut sizes_of_fronts, mut between) = (0, 0);
    for (seed, more, loads) in cases {
        let project = project(&text(more, SMALL, loads), shaken(seed));
        let search = Search::new(&project, None, 5, seed).unwrap();
        let found = searched(&search, None);
        assert_eq!(found.front, by_trying_all(&search), "seed {seed}");
        assert!(search.all().len() > 100, "seed {seed}: {} combinations", search.all().len());
        let worst = 5 * search.all().len() as u64;
        assert!(found.years_run < worst, "seed {seed}: nothing was pruned");
        sizes_of_fronts += found.front.len();
        between += found.front.iter().filter(|point| (1..5).contains(&point.ran_out)).count();
    }
    assert!(
        sizes_of_fronts >= 12 && between > 0,
        "{sizes_of_fronts} designs, {between} between never and always"
    );
}

#[test]
fn shares_together_are_the_single_run_byte_for_byte() {
    let project = project(&text("season = \"summer\"", SMALL, ""), shaken(5));
    let search = Search::new(&project, None, 6, 9).unwrap();
    let single = bytes(&told(&search, &searched(&search, None)));
    for of in [1, 2, 7] {
        let mut files: Vec<SourceText> = (1..=of)
            .map(|which| {
                // Each share on a machine of its own.
                let elsewhere = Search::new(&project, None, 6, 9).unwrap();
                let share = Share { which, of };
                let text = elsewhere.share_text(share, &searched(&elsewhere, Some(share)));
                SourceText { name: format!("share-{which}.toml"), text }
            })
            .collect();
        files.reverse();
        let merged = search.merge(&files).unwrap_or_else(|problems| panic!("{problems:?}"));
        assert_eq!(bytes(&told(&search, &merged)), single, "{of} shares");
    }
}

#[test]
fn one_thread_or_two_give_the_same_bytes() {
    let project = project(&text("season = \"winter\"", SMALL, ""), shaken(6));
    let with = |threads: usize| {
        rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap().install(|| {
            let search = Search::new(&project, None, 6, 3).unwrap();
            let found = searched(&search, None);
            (bytes(&told(&search, &found)), found.tried, found.years_run)
        })
    };
    assert_eq!(with(1), with(2));
}

#[test]
fn shares_that_do_not_belong_are_refused_with_their_line() {
    let project = project(&text("", SMALL, ""), shaken(7));
    let search = Search::new(&project, None, 3, 1).unwrap();
    let file = |which, of| {
        let share = Share { which, of };
        let text = search.share_text(share, &searched(&search, Some(share)));
        SourceText { name: format!("{which}.toml"), text }
    };
    let (one, two) = (file(1, 2), file(2, 2));
    assert!(search.merge(&[one.clone(), two.clone()]).is_ok());
    let edited = |from: &str, to: &str| {
        assert!(two.text.contains(from), "{from}");
        SourceText { text: two.text.replacen(from, to, 1), ..two.clone() }
    };
    let cases = [
        (vec![one.clone()], "missing: 2", 1),
        (vec![one.clone(), one.clone()], "already", 8),
        (vec![one.clone(), edited("years = 3", "years = 4")], "`years` is 4", 5),
        (vec![one.clone(), edited("seed = \"1\"", "seed = \"2\"")], "`seed` is 2", 6),
        (vec![one.clone(), edited("project = \"", "project = \"0")], "`project`", 4),
        (vec![one.clone(), edited("version = 1", "version = 9")], "`version`", 2),
        (vec![one.clone(), edited("shares = 2", "shares = 3")], "share of 3", 9),
        (vec![one.clone(), edited("front = [[", "front = [[99999999, 0], [")], "is not in this share", 10),
        (vec![one.clone(), edited("share = 2", "sahre = 2")], "unknown field", 8),
        (
            vec![one.clone(), SourceText { name: "x".into(), text: "not [ toml".into() }],
            "not the file of a share",
            1,
        ),
        (vec![], "no share", 1),
    ];
    for (files, message, line) in cases {
        let problems = search.merge(&files).expect_err(message);
        let found = problems.iter().find(|problem| problem.message.contains(message));
        let found = found.unwrap_or_else(|| panic!("{message}: {problems:?}"));
        assert_eq!(found.line, line, "{found:?}");
        assert!(!found.mend.is_empty());
    }
    // Another project, and other weather years.
    let other = project_of(&text("people = 3", SMALL, ""));
    let elsewhere = Search::new(&other, None, 3, 1).unwrap();
    assert!(elsewhere.merge(&[one, two]).is_err());
}

fn project_of(text: &str) -> Project {
    project(text, shaken(7))
}

#[test]
fn payload_and_roof_are_kept() {
    let all = project(&text("", SMALL, ""), shaken(8));
    let free = Search::new(&all, None, 2, 1).unwrap();
    let heaviest = free.all().iter().map(|trial| trial.worth.grams).max().unwrap();
    let lightest = free.all().iter().map(|trial| trial.worth.grams).min().unwrap();
    let limit = (heaviest + lightest) / 2000;
    let held = project(&text(&format!("payload = \"{limit} kg\""), SMALL, ""), shaken(8));
    let search = Search::new(&held, None, 2, 1).unwrap();
    assert!(search.all().len() < free.all().len() && !search.all().is_empty());
    assert!(search.all().iter().all(|trial| trial.worth.grams <= limit * 1000));
    let sizes = told(&search, &searched(&search, None));
    assert!(sizes.too_heavy > 0);
    for design in &sizes.front {
        let whole = design.whole.as_ref().unwrap();
        assert!(whole.mass.get() <= limit as f64, "{design:?}");
    }
    // No array of the search covers more than the roof, whatever its modules.
    for trial in free.all().iter().step_by(7) {
        let (project, system) = free.whole_system(trial.at).unwrap();
        let array = project.intent.solar.values().next();
        let Some(array) = array else { continue };
        let id = array.module.as_ref().unwrap();
        let size = &project.library.module[id].size;
        let area = size[0].get() * size[1].get() * f64::from(array.count.unwrap());
        assert!(area <= 1.7 * 1.1 + 1e-9, "{id} x {:?}: {area} m²", array.count);
        drop(system);
    }
}

// What a search adds up choice by choice is the derived whole within cables and fuses: a few hundredths.
#[test]
fn the_searchs_figures_are_those_of_the_derived_whole() {
    for name in ["heron", "marten", "wren"] {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name);
        let text = std::fs::read_to_string(path.join("intent.toml")).unwrap();
        let project = project(&text.replace("all-year", "summer"), model::library::builtin().clone());
        let search = Search::new(&project, None, 4, 1).unwrap();
        let sizes = told(&search, &searched(&search, None));
        assert!(!sizes.front.is_empty(), "{name}");
        for design in sizes.front.iter().chain([&sizes.current]) {
            let whole = design.whole.as_ref().unwrap();
            assert!((whole.cost / design.cost - 1.0).abs() < 0.06, "{name}: {design:?}");
            assert!((whole.mass / design.mass - 1.0).abs() < 0.06, "{name}: {design:?}");
            assert!(whole.chance.happened.abs_diff(design.chance.happened) <= 1, "{name}: {design:?}");
        }
        // The project as it stands is the first combination, and costs what it costs.
        let whole = sizes.current.whole.as_ref().unwrap();
        assert_eq!((whole.cost, whole.mass), (sizes.current.cost, sizes.current.mass));
        assert_eq!(whole.chance, sizes.current.chance);
    }
}

#[test]
fn the_choice_says_why_and_what_a_step_changes() {
    let project = project(&text("season = \"summer\"\nrunning_out = \"20 %\"", SMALL, ""), shaken(9));
    let search = Search::new(&project, None, 10, 2).unwrap();
    let sizes = told(&search, &searched(&search, None));
    let at = sizes.chosen.expect("a design meets the wish");
    let design = &sizes.front[at];
    let whole = design.whole.as_ref().unwrap();
    assert!(whole.chance.share.get() <= 0.2);
    for other in &sizes.front {
        let other = other.whole.as_ref().unwrap();
        let is_better = other.cost < whole.cost && other.chance.share.get() <= 0.2;
        assert!(!is_better, "{other:?} is cheaper and meets the wish");
    }
    assert!(sizes.because.sentence.contains("cheapest") && sizes.because.sentence.contains("20 %"));
    assert!(sizes.steps.iter().any(|step| step.is_larger) && sizes.steps.iter().any(|step| !step.is_larger));
    // The edits shown give the design.
    let (_, system) = search.whole_system(design.number).unwrap();
    assert!(system.refusals.is_empty());
    // Whoever speaks against every design leaves none, and each is named.
    let none = search.tell(&searched(&search, None), &|_, _| Some("no".to_owned()));
    assert_eq!(none.chosen, None);
    assert!(!none.because.passed_over.is_empty() && none.steps.is_empty());
}

#[test]
fn nothing_to_search_is_said() {
    let bare = "[brief]\nname = \"x\"\ncraft = \"van\"\nrules = \"iec\"\nvoltage = \"36 V\"\n[bank]\nchemistry = \"gel\"\n";
    let bare = project(bare, Library::empty());
    assert!(Search::new(&bare, None, 3, 1).is_err_and(|why| !why.mend().is_empty()));
    let good = project(&text("", SMALL, ""), shaken(1));
    assert!(Search::new(&good, None, 0, 1).is_err());
    assert!(Search::new(&good, None, 1_000_000, 1).is_err());
}
