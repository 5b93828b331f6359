//! The summary as a page of Markdown: safety first, then what was asked, what came out, what is wrong, what is open.
//! Never: computes; every number comes from [`Summary`].
//! Start at [`summary_markdown`].

use quantity::{Metres, WattHoursPerDay, show_in_feet};
use reference::RuleSet;
use rules::{Finding, Severity};

use crate::plural;
use crate::schedules::CircuitRow;
use crate::summary::Summary;

/// A text from outside, as words of a Markdown line or table cell: no pipe, tag, mark or line break of it has a meaning.
pub fn text_of(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\\' | '|' | '*' | '`' | '[' | ']' => {
                safe.push('\\');
                safe.push(letter);
            }
            '<' => safe.push_str("&lt;"),
            '&' => safe.push_str("&amp;"),
            '\n' | '\r' | '\t' => safe.push(' '),
            other => safe.push(other),
        }
    }
    safe
}

/// The page.
pub fn summary_markdown(summary: &Summary) -> String {
    let mut page = Page::default();
    page.line(&format!("# {}", text_of(&summary.name)));
    page.line(&format!("**Safety.** {}", summary.safety));
    brief(&mut page, summary);
    if summary.refusals.is_empty() {
        result(&mut page, summary);
    } else {
        refusals(&mut page, summary);
    }
    findings(&mut page, summary);
    open_ends(&mut page, summary);
    sources(&mut page, summary);
    page.text
}

/// A page under construction: blocks with an empty line between them.
#[derive(Default)]
struct Page {
    text: String,
}

impl Page {
    fn line(&mut self, text: &str) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
        self.text.push_str(text);
        self.text.push('\n');
    }

    fn list(&mut self, items: impl IntoIterator<Item = String>) {
        let items: Vec<String> = items.into_iter().map(|item| format!("- {item}")).collect();
        if !items.is_empty() {
            self.line(&items.join("\n"));
        }
    }

    /// A table; its cells are escaped here, so that no caller can forget it.
    fn table<const COLUMNS: usize>(
        &mut self,
        heads: [&str; COLUMNS],
        rows: impl IntoIterator<Item = [String; COLUMNS]>,
    ) {
        let mut lines =
            vec![format!("| {} |", heads.join(" | ")), format!("| {} |", heads.map(|_| "---").join(" | "))];
        lines.extend(
            rows.into_iter().map(|row| format!("| {} |", row.map(|cell| text_of(&cell)).join(" | "))),
        );
        self.line(&lines.join("\n"));
    }
}

fn brief(page: &mut Page, summary: &Summary) {
    page.line("## Brief");
    let mut items =
        vec![format!("{} of {}, rule set {}", capital(summary.craft.word()), summary.voltage, summary.rules)];
    if let Some(volts) = summary.ac_voltage {
        items.push(format!("alternating current of {volts}"));
    }
    if let Some(place) = &summary.place {
        items.push(format!("at {}, {}", place.latitude, place.longitude));
    }
    match (summary.mass, summary.payload) {
        (Some(mass), Some(payload)) => items.push(format!("mass {mass} of {payload} allowed")),
        (Some(mass), None) => items.push(format!("mass {mass}; no limit was given")),
        (None, Some(payload)) => items.push(format!("mass allowed {payload}")),
        (None, None) => {}
    }
    if let Some((low, high)) = summary.price {
        let unknown = summary.schedules.as_ref().map_or(0, |schedules| schedules.parts.lines_unknown);
        items.push(format!(
            "parts {:.0} to {:.0}, {} without a price",
            low.get(),
            high.get(),
            plural(unknown, "line")
        ));
    }
    if summary.build_steps > 0 {
        items.push(format!(
            "{} to build and prove it, in build-order.md",
            plural(summary.build_steps, "step")
        ));
    }
    if !summary.pinned.is_empty() {
        let pins: Vec<String> = summary
            .pinned
            .iter()
            .map(|(path, value)| format!("{} = {}", text_of(path), text_of(value)))
            .collect();
        items.push(format!("pinned: {}", pins.join(", ")));
    }
    page.list(items);
}

fn refusals(page: &mut Page, summary: &Summary) {
    page.line("## Refused");
    page.line("No schedule is issued, because this cannot be built sensibly as it is asked for.");
    page.list(summary.refusals.iter().map(|refusal| {
        format!(
            "**{}** {} (at {})",
            text_of(&refusal.what),
            text_of(&refusal.numbers),
            text_of(&refusal.intent)
        )
    }));
    page.line("## What would do instead");
    if summary.alternatives.is_empty() {
        page.line(
            "No change that was tried makes it buildable; ask for less power, or for a higher voltage.",
        );
    }
    page.list(summary.alternatives.iter().map(|alternative| {
        let edits: Vec<String> = alternative.edits.iter().map(|edit| text_of(&edit.shown())).collect();
        format!("{}: {} ({})", text_of(&alternative.title), text_of(&alternative.outcome), edits.join(", "))
    }));
}

fn result(page: &mut Page, summary: &Summary) {
    if let Some(bank) = &summary.bank {
        page.line("## Bank");
        page.list([
            format!(
                "{} in series, {} in parallel: {} ({})",
                bank.series,
                bank.parallel,
                text_of(&bank.battery),
                bank.chemistry
            ),
            format!("{}, {}, of which {} usable", bank.capacity, bank.energy, bank.usable),
            format!("at most {} charging and {} discharging", bank.charge_limit, bank.discharge_limit),
            format!("fault current at its terminals {}", bank.short_circuit),
        ]);
    }
    energy(page, summary);
    year(page, summary);
    if !summary.inverters.is_empty() {
        page.line("## Inverter");
        page.list(summary.inverters.iter().map(|inverter| {
            let charge = inverter.charge.map_or_else(String::new, |amps| format!("; charges with {amps}"));
            format!(
                "{} ({}): {}, {} in heat, surge {}; asked for at once {}{charge}",
                text_of(&inverter.title),
                text_of(&inverter.device),
                inverter.power,
                inverter.power_hot,
                inverter.surge,
                inverter.peak
            )
        }));
    }
    if !summary.main_currents.is_empty() {
        page.line("## Main currents");
        page.table(
            ["Circuit", "Sized for", "For seconds", "Largest in the study"],
            summary.main_currents.iter().map(|row| {
                [
                    row.title.clone(),
                    row.steady.to_string(),
                    row.surge.to_string(),
                    row.studied.map_or_else(|| "not studied".to_owned(), |amps| amps.to_string()),
                ]
            }),
        );
    }
    if let Some(schedules) = &summary.schedules {
        page.line("## Circuits");
        page.line(
            "The loss is that of the circuit's own conductors, out and back, at its largest steady current; on the main path at the largest that the study finds.",
        );
        page.table(
            ["Circuit", "Current", "Conductor", "Length", "Fuse or breaker", "Loss", "Allowed"],
            schedules.circuits.iter().map(|row| circuit(row, summary.rules)),
        );
    }
}

fn circuit(row: &CircuitRow, rules: RuleSet) -> [String; 7] {
    [
        row.title.clone(),
        row.current.to_string(),
        row.sizes.join(", "),
        if row.length > Metres::zero() { length(row.length, rules) } else { String::new() },
        row.protection.join(", "),
        row.drop.map_or_else(String::new, |drop| format!("{:.1} %", drop.get() * 100.0)),
        if row.drop.is_some() { format!("{:.0} %", row.drop_limit.get() * 100.0) } else { String::new() },
    ]
}

fn length(length: Metres, rules: RuleSet) -> String {
    match rules {
        RuleSet::Na => format!("{:.2} m ({})", length.get(), show_in_feet(length)),
        RuleSet::Iec => format!("{:.2} m", length.get()),
    }
}

fn energy(page: &mut Page, summary: &Summary) {
    let plan = &summary.energy;
    page.line("## Energy plan");
    let row = |what: &str, summer: WattHoursPerDay, winter: WattHoursPerDay| {
        [what.to_owned(), summer.to_string(), winter.to_string()]
    };
    page.table(
        ["Mean of a day", "Summer", "Winter"],
        [
            row("need from the bank", plan.need_summer, plan.need_winter),
            row("idle draw in it", plan.idle, plan.idle),
            row("sun", plan.sun_summer, plan.sun_winter),
            row("engine", plan.engine, plan.engine),
            row("shore", plan.shore, plan.shore),
            row("generator", plan.generator, plan.generator),
        ],
    );
    // The hours decide where they were followed: see the typical year below.
    let by_mean = summary
        .study
        .is_none()
        .then(|| format!("without charging it lasts {}; wanted {}", plan.autonomy, plan.autonomy_wanted));
    page.list(by_mean);
    page.list([format!("largest power drawn from the bank at once {}", plan.peak)]);
}

fn year(page: &mut Page, summary: &Summary) {
    let Some(study) = &summary.study else { return };
    page.line("## A typical year");
    page.line(&format!("Weather: {}.", text_of(&study.weather)));
    page.table(
        [
            "Month",
            "Asked",
            "Sun",
            "Engine",
            "Shore, generator",
            "Short",
            "Lowest charge",
            "Chance of running out",
        ],
        study.months.iter().map(|row| {
            [
                row.month.clone(),
                row.asked.to_string(),
                row.sun.to_string(),
                row.engine.to_string(),
                (row.shore + row.generator).to_string(),
                row.short.to_string(),
                row.lowest.to_string(),
                row.running_out.to_string(),
            ]
        }),
    );
    let (share, low, high) = study.running_out;
    let (life, least, most) = study.bank_life;
    let autonomy = study.autonomy.map_or("more than two months".to_owned(), |hours| hours.to_string());
    page.list([
        format!(
            "a full bank lasts {autonomy} without any charging, in the hardest month of use; wanted {}",
            summary.energy.autonomy_wanted
        ),
        format!(
            "it runs out in {share} of years, 95 % sure between {low} and {high}, by {} years of drawn weather",
            study.years
        ),
        format!("the bank holds four fifths of its capacity for about {life:.0} years, somewhere from {least:.0} to {most:.0}"),
    ]);
    page.line("Taken for granted:");
    page.list(study.notes.iter().map(|note| text_of(note)));
}

fn findings(page: &mut Page, summary: &Summary) {
    page.line("## Findings");
    if summary.findings.is_empty() {
        page.line("None.");
        return;
    }
    page.line(&format!("{}.", capital(&summary.finding_counts())));
    for severity in [Severity::Danger, Severity::Warning, Severity::Advice] {
        let of: Vec<&Finding> =
            summary.findings.iter().filter(|finding| finding.severity == severity).collect();
        if of.is_empty() {
            continue;
        }
        page.line(&format!("### {}", capital(severity.word())));
        page.list(of.into_iter().map(finding));
    }
}

fn finding(finding: &Finding) -> String {
    let mut text =
        format!("**{}** at {}: {}", finding.rule, text_of(&finding.place), text_of(&finding.message));
    let mut below = |head: &str, words: &str| {
        if !words.is_empty() {
            text.push_str(&format!("\n  - {head}: {}", text_of(words)));
        }
    };
    below("why it matters", &finding.why);
    below("numbers", &finding.because.join("; "));
    let mends: Vec<&str> = finding.fixes.iter().map(|fix| fix.what.as_str()).collect();
    below("mend", &mends.join("; or "));
    let cites: Vec<String> = finding.cite.iter().map(ToString::to_string).collect();
    below("source", &cites.join("; "));
    match (&finding.answered, finding.severity) {
        (Some(reason), _) => below("answer", reason),
        (None, Severity::Danger) => below("answer", "none"),
        _ => {}
    }
    below("from", &finding.intent);
    text
}

fn open_ends(page: &mut Page, summary: &Summary) {
    if !summary.questions.is_empty() {
        page.line("## Open questions");
        page.line("Those first on which most hangs.");
        let numbered: Vec<String> = (1..)
            .zip(&summary.questions)
            .map(|(number, question)| {
                format!(
                    "{number}. {} (answer at {})\n   - low end: {}\n   - high end: {}",
                    text_of(&question.text),
                    text_of(&question.path),
                    text_of(&question.low_result),
                    text_of(&question.high_result)
                )
            })
            .collect();
        page.line(&numbered.join("\n"));
    }
    if !summary.assumptions.is_empty() {
        page.line("## Assumptions");
        page.table(
            ["Where to say otherwise", "Taken", "Plausible", "Answer before building", "Why"],
            summary.assumptions.iter().map(|assumption| {
                let ends = assumption.plausible.as_ref();
                [
                    assumption.path.clone(),
                    assumption.value.clone(),
                    ends.map_or_else(String::new, |(low, high)| format!("{low} to {high}")),
                    if assumption.must_answer { "yes" } else { "no" }.to_owned(),
                    assumption.why.clone(),
                ]
            }),
        );
    }
    if !summary.gaps.is_empty() {
        page.line("## Parts to find");
        page.list(summary.gaps.iter().map(|gap| format!("{}: {}", text_of(&gap.path), text_of(&gap.need))));
    }
    if !summary.unused.is_empty() {
        page.line("## Not used");
        page.list(summary.unused.iter().map(|unused| {
            format!("{}: {}. {}", text_of(&unused.intent), text_of(&unused.message), text_of(&unused.mend))
        }));
    }
}

fn sources(page: &mut Page, summary: &Summary) {
    if summary.sources.is_empty() {
        return;
    }
    page.line("## Sources");
    page.line("A row known from memory is to be confirmed before relying on it.");
    page.table(
        ["Key", "Issued by", "Title", "Edition", "Least known row"],
        summary.sources.iter().map(|source| {
            [
                source.key.clone(),
                source.body.clone(),
                source.title.clone(),
                source.edition.clone(),
                source.provenance.to_string(),
            ]
        }),
    );
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
