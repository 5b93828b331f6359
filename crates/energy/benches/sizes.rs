//! How many combinations of the parts library a search over sizes settles in a second.
//! Never: asserts a time. Run `cargo bench -p energy --bench sizes`; `-- teal 40` names an example and a number of years;
//! without, the demo van with its roof measured, any chemistry allowed, at 12 V and at 24 V.

#![allow(clippy::unwrap_used, clippy::print_stdout)] // a bench may panic and prints its figures

use std::path::Path;
use std::time::Instant;

use energy::Progress;
use energy::sizes::{Search, Sizes};
use model::{Project, SourceText};

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with('-')).collect();
    let years: u32 = words.get(1).and_then(|word| word.parse().ok()).unwrap_or(energy::YEARS);
    let Some(name) = words.first() else {
        for volts in ["12 V", "24 V"] {
            let text = example("heron")
                .replace("chemistry = \"lfp\"\n", "")
                .replace("[solar.roof]\n", "[solar.roof]\nspace = [\"5.6 m\", \"2.1 m\"]\n")
                .replacen("voltage = \"12 V\"", &format!("voltage = \"{volts}\""), 1);
            measure(&format!("heron at {volts}"), text, years);
        }
        return;
    };
    measure(name, example(name), years);
}

fn example(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name).join("intent.toml");
    std::fs::read_to_string(path).unwrap()
}

fn measure(name: &str, text: String, years: u32) {
    let source = SourceText { name: "intent.toml".to_owned(), text };
    let project = Project::read(source, model::library::builtin().clone()).expect("a sound example");

    let start = Instant::now();
    let search = Search::new(&project, None, years, energy::SEED).expect("a bank");
    let gathered = start.elapsed().as_secs_f64();
    let progress = Progress::default();
    let found = search.run(None, &progress).expect("not stopped");
    let searched = start.elapsed().as_secs_f64();
    let told = search.tell(&found, &|_, _| None);
    let whole = start.elapsed().as_secs_f64();
    let all = told.combinations as f64;
    println!(
        "{name}: {} combinations, {years} years, {} threads",
        told.combinations,
        rayon::current_num_threads()
    );
    println!(
        "  choices: {:?}; {} go together within the payload, {} too heavy",
        told.choices, told.tried, told.too_heavy
    );
    println!(
        "  {} were run at all, {} years in all ({:.2} of each run combination's)",
        found.tried,
        found.years_run,
        found.years_run as f64 / (found.tried.max(1) as f64 * f64::from(years))
    );
    println!(
        "  gathered in {gathered:.2} s, searched in {:.2} s, told in {:.2} s, together {whole:.2} s: {:.0} combinations/s",
        searched - gathered,
        whole - searched,
        all / whole
    );
    println!(
        "  front: {} designs, {} refused; {}",
        told.front.len(),
        told.refused.len(),
        told.because.sentence
    );
    if std::env::var_os("SHOW").is_some() {
        show(&told);
    }
}

fn show(told: &Sizes) {
    println!("current: {:?}", told.current);
    for (at, design) in told.front.iter().enumerate() {
        let whole = design.whole.as_ref().map(|w| (w.cost.get(), w.mass.get(), w.chance.happened));
        let mark = if told.chosen == Some(at) { "*" } else { " " };
        println!(
            "{mark} {:.0} {:.1} kg {}/{} {whole:?} | {} | {} | {} | {}",
            design.cost.get(),
            design.mass.get(),
            design.chance.happened,
            design.chance.of,
            design.bank,
            design.array,
            design.engine,
            design.inverter
        );
    }
    println!("{:?}", told.because);
    for step in &told.steps {
        println!("{step:?}");
    }
    for (design, why) in told.refused.iter().take(10) {
        println!("refused {} | {} | {}: {why}", design.bank, design.array, design.engine);
    }
    for note in &told.notes {
        println!("{}: {}", note.id, note.message);
    }
}
