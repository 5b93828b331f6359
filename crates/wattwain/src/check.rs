//! `check`: derives, studies and judges a project, and says what it would be, what to ask and what is wrong.
//! Never: computes a value itself, hides a danger.
//! Start at [`run`].

use model::{Alternative, CircuitKind, Pole, Project, Spec, System};
use network::{Results, Scene};
use quantity::{Fraction, Volts, Written};
use rules::{Finding, Severity};
use serde_json::json;

use crate::answer::{Answer, FOUND, Failure, OK};
use crate::cli::CheckArgs;
use crate::findings::{self, Judged};
use crate::progress;
use crate::show::{SAFETY, Screen, plural};

/// Findings up to which mends are tried unasked.
const FEW: usize = 25;

/// Columns from which a table shows everything.
const WIDE: usize = 140;

/// Questions shown.
const QUESTIONS: usize = 3;

/// Checks the project.
pub fn run(args: &CheckArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let project = folder::project(&args.project)?;
    let derived = ::board::derived(&project);
    let system = &derived.system;
    let results = network::study(system);
    let series = folder::weather(&project, &args.project, None)?;
    let lasts = |system: &System| energy::study(system, series.as_ref());
    let study = lasts(system);
    let beside = derived.faults(&project, None);
    let findings = rules::check_beside(system, &results, study.as_ref(), &beside, derived.layout.is_some());
    let questions = if args.quick {
        Vec::new()
    } else {
        progress::counted("Trying what was not said", 0, |_| derive::questions(&project, system, QUESTIONS))
    };
    let alternatives = derive::alternatives(&project, system);
    let tries = args.mend || (!args.quick && findings.len() <= FEW);
    let judged = findings::judge(&project, &derived, findings, tries, &lasts);
    let code = if is_bad(system, &judged) { FOUND } else { OK };
    let answer = if json {
        Answer::json(&json!({
            "safety": SAFETY,
            "project": project.source.name,
            "counts": counts(&judged),
            "findings": judged,
            "questions": questions,
            "alternatives": alternatives,
            "system": system,
            "results": results,
            "study": study,
        }))?
    } else {
        let mut page = Page { screen, blocks: Vec::new() };
        page.head(&project, system);
        page.summary(system, &results, study.as_ref());
        page.circuits(system, &results);
        page.questions(&questions);
        page.assumptions(system, args.assumptions);
        page.refusals(system, &alternatives);
        page.blocks.extend(judged.iter().map(|judged| findings::shown(screen, &project, judged)));
        page.verdict(&judged, tries);
        Answer::text(page.blocks.join("\n\n"))
    };
    Ok(answer.with_code(code))
}

/// Whether something stands that nobody has answered for.
fn is_bad(system: &System, judged: &[Judged]) -> bool {
    let is_open = |finding: &Finding| finding.severity == Severity::Danger && finding.answered.is_none();
    !system.refusals.is_empty() || judged.iter().any(|judged| is_open(&judged.finding))
}

fn counts(judged: &[Judged]) -> serde_json::Value {
    let count = |severity| judged.iter().filter(|judged| judged.finding.severity == severity).count();
    json!({
        "danger": count(Severity::Danger),
        "warning": count(Severity::Warning),
        "advice": count(Severity::Advice),
    })
}

struct Page<'s> {
    screen: &'s Screen,
    blocks: Vec<String>,
}

impl Page<'_> {
    fn block(&mut self, heading: &str, body: String) {
        self.blocks.push(format!("{}\n{body}", self.screen.heading(heading)));
    }

    fn head(&mut self, project: &Project, system: &System) {
        let title =
            format!("{}: {}, {}, rule set {}", system.name, system.craft, system.voltage, system.rules);
        let file = self.screen.quiet(&project.source.name);
        self.blocks.push(format!(
            "{}  {file}\n{}",
            self.screen.heading(&title),
            self.screen.wrapped(SAFETY, "")
        ));
    }

    fn summary(&mut self, system: &System, results: &Results, study: Option<&energy::Study>) {
        let mut rows: Vec<[String; 3]> = Vec::new();
        if let Some(bank) = &system.bank {
            let part = bank
                .batteries
                .first()
                .and_then(|ix| system.devices.get(*ix))
                .and_then(|device| device.part.as_deref())
                .map_or("a battery of your own", |part| part.trim_start_matches("battery."));
            row(
                &mut rows,
                "Bank",
                format!("{} {}", bank.capacity, bank.chemistry),
                format!(
                    "{} in series, {} in parallel of {part}; {} usable; gives {}, takes {}",
                    bank.series, bank.parallel, bank.usable, bank.discharge_limit, bank.charge_limit
                ),
            );
            row(&mut rows, "Short circuit at the bank", bank.short_circuit.to_string(), String::new());
        }
        energy(&mut rows, system, study);
        year(&mut rows, study);
        for device in &system.devices {
            if let Spec::Inverter(part, _) = &device.spec {
                let peak = format!("{} may run at once", system.ac_peak);
                row(&mut rows, "Inverter", part.power.to_string(), format!("{}; {peak}", part.title));
            }
        }
        if let Some(main) = system.circuits.iter().position(|circuit| circuit.kind == CircuitKind::Main) {
            let circuit = &system.circuits[main];
            let fuse = protection(system, main, true);
            row(
                &mut rows,
                "Main",
                circuit.current_steady.to_string(),
                format!("{} behind {fuse}", conductor(system, &carrying(system)[main]).0),
            );
        }
        if let Some(result) = results.scene(Scene::EverythingOn)
            && let Some(lowest) = lowest_load_volts(system, &result.volts)
        {
            row(&mut rows, "Lowest voltage at a load", lowest.0, lowest.1);
        }
        let table = self.screen.table(&["!", ">!", ""], rows.into_iter().map(|row| row.to_vec()));
        self.block("Summary", table);
    }

    fn circuits(&mut self, system: &System, results: &Results) {
        // On a narrow screen the title and the fuse family give way; both stand in the schedules.
        let is_wide = self.screen.width >= WIDE;
        let mut heads = vec!["!circuit"];
        if is_wide {
            heads.push("for");
        }
        heads.extend([">!current", ">!conductor", ">!one way", ">!fuse", ">!lost"]);
        let of_circuit = carrying(system);
        let rows: Vec<Vec<String>> = (0..system.circuits.len())
            .filter(|ix| system.circuits[*ix].kind != CircuitKind::Bond)
            .filter_map(|ix| {
                let circuit = &system.circuits[ix];
                let (gauge, length) = conductor(system, &of_circuit[ix]);
                // A circuit of internal links has nothing to lay.
                if gauge.is_empty() {
                    return None;
                }
                let mut row = vec![circuit.id.clone()];
                if is_wide {
                    row.push(circuit.title.clone());
                }
                let fuse = protection(system, ix, is_wide);
                row.extend([
                    circuit.current_steady.to_string(),
                    gauge,
                    length,
                    fuse,
                    drop(system, results, ix, &of_circuit[ix]),
                ]);
                Some(row)
            })
            .collect();
        if rows.is_empty() {
            return;
        }
        let table = self.screen.table(&heads, rows);
        self.block("Circuits", table);
    }

    fn questions(&mut self, questions: &[derive::Question]) {
        if questions.is_empty() {
            return;
        }
        let rows = questions.iter().map(|question| {
            vec![
                question.path.clone(),
                question.assumed.clone(),
                format!("{}: {}", question.low.value, question.low.result),
                format!("{}: {}", question.high.value, question.high.result),
            ]
        });
        let table =
            self.screen.table(&["!say in intent.toml", "assumed", "at the low end", "at the high end"], rows);
        self.block("Questions that matter most", table);
    }

    fn assumptions(&mut self, system: &System, all: bool) {
        let listed: Vec<&model::Assumption> =
            system.assumptions.iter().filter(|assumption| all || assumption.must_answer).collect();
        let hidden = system.assumptions.len() - listed.len();
        if !listed.is_empty() {
            let rows = listed.iter().map(|assumption| {
                let range = assumption
                    .plausible
                    .as_ref()
                    .map_or(String::new(), |(low, high)| format!("{low} to {high}"));
                let must = if assumption.must_answer { "must be answered" } else { "" };
                vec![
                    assumption.path.clone(),
                    assumption.value.clone(),
                    range,
                    must.to_owned(),
                    assumption.why.clone(),
                ]
            });
            let table = self.screen.table(&["!say in intent.toml", "assumed", "plausible", "", "why"], rows);
            self.block("Assumptions", table);
        }
        if hidden > 0 {
            let more = format!(
                "{hidden} {} behind these figures; `--assumptions` lists {}.",
                plural(hidden, "assumption stands", "assumptions stand"),
                plural(hidden, "it", "them")
            );
            self.blocks.push(more);
        }
    }

    fn refusals(&mut self, system: &System, alternatives: &[Alternative]) {
        for refusal in &system.refusals {
            let text = format!("{}: {}\n{}", self.screen.danger("refused"), refusal.what, refusal.numbers);
            self.blocks.push(text);
        }
        if system.refusals.is_empty() {
            return;
        }
        let mut text = if alternatives.is_empty() {
            "No change that was tried makes it derivable; take the largest loads out one by one.".to_owned()
        } else {
            "No schedule is issued. These were tried and derive:".to_owned()
        };
        for alternative in alternatives {
            text.push_str(&format!("\n  - {}: {}", alternative.title, alternative.outcome));
            for edit in &alternative.edits {
                text.push_str(&format!("\n      {}", edit.shown()));
            }
        }
        self.blocks.push(text);
    }

    fn verdict(&mut self, judged: &[Judged], tried: bool) {
        let count = |severity| judged.iter().filter(|judged| judged.finding.severity == severity).count();
        let (danger, warning, advice) =
            (count(Severity::Danger), count(Severity::Warning), count(Severity::Advice));
        let answered = judged.iter().filter(|judged| judged.finding.answered.is_some()).count();
        let mut text = if judged.is_empty() {
            "Nothing found.".to_owned()
        } else {
            format!(
                "{danger} {}, {warning} {}, {advice} advice.",
                plural(danger, "danger", "dangers"),
                plural(warning, "warning", "warnings")
            )
        };
        if answered > 0 {
            text.push_str(&format!(" {answered} answered in writing."));
        }
        if !tried && !judged.is_empty() {
            text.push_str(" `--mend` tries a mend for each.");
        }
        let text = if danger > 0 { self.screen.danger(&text) } else { self.screen.heading(&text) };
        self.blocks.push(text);
    }
}

fn row(rows: &mut Vec<[String; 3]>, what: &str, value: String, note: String) {
    rows.push([what.to_owned(), value, note]);
}

/// What the hourly year says, in a line each.
fn year(rows: &mut Vec<[String; 3]>, study: Option<&energy::Study>) {
    let Some(study) = study else { return };
    let chance = &study.years.running_out;
    row(
        rows,
        "Runs out in a year",
        chance.share.to_string(),
        format!("95 % sure between {} and {}; `wattwain year` shows the months", chance.low, chance.high),
    );
    let life = &study.year.bank_life;
    if life.years.is_finite() {
        row(
            rows,
            "Bank wears out in",
            format!("{:.0} years", life.years),
            format!("somewhere from {:.0} to {:.0}", life.low, life.high),
        );
    }
}

fn energy(rows: &mut Vec<[String; 3]>, system: &System, study: Option<&energy::Study>) {
    let energy = &system.energy;
    let season = |what: &str, winter: &dyn std::fmt::Display| format!("{what} in summer, {winter} in winter");
    row(
        rows,
        "Need",
        energy.need_summer.to_string(),
        format!(
            "{}; {} of it idle draw",
            season(&energy.need_summer.to_string(), &energy.need_winter),
            energy.idle
        ),
    );
    let zero = quantity::WattHoursPerDay::zero();
    if energy.sun_summer > zero || energy.sun_winter > zero {
        row(
            rows,
            "From the sun",
            energy.sun_summer.to_string(),
            season(&energy.sun_summer.to_string(), &energy.sun_winter),
        );
    }
    for (what, value) in [
        ("From the engine", energy.engine),
        ("From shore", energy.shore),
        ("From the generator", energy.generator),
    ] {
        if value > zero {
            row(rows, what, value.to_string(), String::new());
        }
    }
    // The hours decide where they were followed; the mean day sized the bank.
    let lasts = match study {
        Some(study) => study.autonomy.map_or("over 60 days".to_owned(), |hours| hours.to_string()),
        None => energy.autonomy.to_string(),
    };
    row(rows, "Without charging", lasts, format!("{} wanted", energy.autonomy_wanted));
    row(rows, "Peak from the bank", energy.peak.to_string(), String::new());
}

/// The conductors of each circuit that carry current.
fn carrying(system: &System) -> Vec<Vec<usize>> {
    let mut of_circuit: Vec<Vec<usize>> = vec![Vec::new(); system.circuits.len()];
    for (ix, conductor) in system.conductors.iter().enumerate() {
        if let Some(own) = of_circuit.get_mut(conductor.circuit).filter(|_| conductor.pole.carries_current())
        {
            own.push(ix);
        }
    }
    of_circuit
}

/// Size and one-way length of the longest current-carrying conductor of a circuit; empty for one of internal links.
fn conductor(system: &System, own: &[usize]) -> (String, String) {
    let own = own.iter().map(|ix| &system.conductors[*ix]).filter(|conductor| !conductor.is_internal);
    let longest = own.max_by(|a, b| a.length.total_cmp(&b.length));
    longest.map_or_else(Default::default, |conductor| (conductor.gauge.show(), conductor.length.to_string()))
}

/// Ratings of a circuit's protective devices, source end first.
fn protection(system: &System, circuit: usize, with_family: bool) -> String {
    let devices = system.circuits[circuit].protection.iter().filter_map(|ix| system.devices.get(*ix));
    let ratings: Vec<String> = devices
        .filter_map(|device| match &device.spec {
            Spec::Fuse(fuse) if with_family => Some(format!("{} {}", fuse.rating, fuse.family)),
            Spec::Fuse(fuse) => Some(fuse.rating.to_string()),
            Spec::Breaker(breaker) if !with_family => Some(breaker.part.current.to_string()),
            Spec::Breaker(breaker) => Some(format!("{} breaker", breaker.part.current)),
            _ => None,
        })
        .collect();
    match ratings.as_slice() {
        [near, far] if near == far => format!("{near}, both ends"),
        _ => ratings.join(", "),
    }
}

/// Volts lost in a circuit's own conductors: the worst scene of the study on the DC side, `I · R` on the AC side.
fn drop(system: &System, results: &Results, ix: usize, own: &[usize]) -> String {
    let circuit = &system.circuits[ix];
    if circuit.kind == CircuitKind::BankLink {
        return String::new();
    }
    let resistance = |c: &usize| results.resistances.get(*c).copied().unwrap_or_default();
    let lost: Volts = if own.iter().any(|c| system.conductors[*c].pole.is_ac()) {
        // Out on a line and back: a second line counts only where there is no neutral.
        let has_neutral = own.iter().any(|c| system.conductors[*c].pole == Pole::Neutral);
        own.iter()
            .filter(|c| !(has_neutral && system.conductors[**c].pole == Pole::Line2))
            .map(|c| circuit.current_steady * resistance(c))
            .sum()
    } else {
        results
            .scenes
            .iter()
            .filter(|scene| scene.scene != Scene::Starting)
            .map(|scene| {
                own.iter()
                    .map(|c| scene.amps.get(*c).copied().unwrap_or_default().abs() * resistance(c))
                    .sum::<Volts>()
            })
            .fold(Volts::zero(), Volts::max)
    };
    if circuit.voltage <= Volts::zero() || !lost.get().is_finite() {
        return String::new();
    }
    format!("{lost} ({:.1} %)", 100.0 * (lost / circuit.voltage))
}

/// Lowest share of its own voltage that any DC load sees, and which.
fn lowest_load_volts(system: &System, volts: &[Vec<Option<Volts>>]) -> Option<(String, String)> {
    let mut lowest: Option<(f64, String, String)> = None;
    for (ix, device) in system.devices.iter().enumerate() {
        let Spec::Load(load) = &device.spec else { continue };
        let at = |pole| {
            let terminal = device.terminals.iter().position(|terminal| terminal.pole == pole)?;
            *volts.get(ix)?.get(terminal)?
        };
        let (Some(plus), Some(minus)) = (at(Pole::Positive), at(Pole::Negative)) else { continue };
        let share = (plus - minus) / load.voltage;
        if lowest.as_ref().is_none_or(|(least, ..)| share < *least) {
            let name = format!(
                "{} with everything on and the bank low, {} of its {}",
                device.id,
                Fraction::new(share),
                load.voltage
            );
            lowest = Some((share, (plus - minus).to_string(), name));
        }
    }
    lowest.map(|(_, volts, name)| (volts, name))
}
