//! Broken, absurd and hostile input: each gets a located error or a finding, the right exit code, and never a panic.
//! Never: relies on how a message is laid out beyond `file:line:column` and the words that name the fault.
//! Start at `SMALL`, a project that is sound, and `breaks`, which changes one thing in it.

#![allow(clippy::unwrap_used)] // tests may panic

mod common;

use common::{path, project, run};

/// A small sound project; the tests break it one way each.
const SMALL: &str = r#"[brief]
name = "Small"
craft = "trailer"
rules = "na"
voltage = "12 V"
autonomy = "24 h"

[zones.cabin]
kind = "living"
coldest = "2 °C"
hottest = "38 °C"
vented = true

[bank]
chemistry = "agm"
capacity = "75 Ah"
length = "0.8 m"

[panels.cabin]
length = "0.6 m"

[loads.lights]
power = "30 W"
count = 4
hours = "3 h/day"
length = "3 m"
"#;

/// Line on which a text stands, from 1.
fn line_of(text: &str, part: &str) -> usize {
    let at = text.find(part).unwrap_or_else(|| panic!("{part} is not in the text"));
    text[..at].matches('\n').count() + 1
}

/// Checks the text and wants exit code 2 and an error at the line of `at` that says `says`.
#[track_caller]
fn refused(text: &str, at: &str, says: &str) {
    let folder = project(text.as_bytes());
    let said = run(&["check", &path(folder.path())]);
    said.code(2).err_has(says).err_has("mend:");
    let place = format!("intent.toml:{}:", line_of(text, at));
    said.err_has(&place);
    assert_eq!(said.out, "", "nothing is printed beside the error");
    let json = run(&["check", "--json", &path(folder.path())]).code(2).json();
    let problems = json["problems"].as_array().unwrap();
    assert!(problems.iter().any(|problem| problem["line"] == line_of(text, at)), "{json}");
}

/// The small project with one text changed.
#[track_caller]
fn breaks(from: &str, to: &str, says: &str) {
    assert!(SMALL.contains(from), "{from}");
    let text = SMALL.replacen(from, to, 1);
    refused(&text, to.lines().next().unwrap_or(to), says);
}

#[test]
fn the_small_project_itself_is_sound() {
    let folder = project(SMALL.as_bytes());
    run(&["check", &path(folder.path())])
        .code(0)
        .out_has("75 Ah")
        .out_has("Mains voltage and large batteries can kill");
}

#[test]
fn empty_and_truncated() {
    let folder = project(b"");
    run(&["check", &path(folder.path())]).code(2).err_has("intent.toml:1:1").err_has("`brief` is missing");
    // Cut after every 7th byte: read or refused, never a panic, always a place.
    let whole = SMALL.as_bytes();
    for end in (1..whole.len()).step_by(7) {
        let folder = project(&whole[..end]);
        let said = run(&["check", "--quick", &path(folder.path())]);
        assert!(matches!(said.code, 0..=2), "{}", said.err);
        if said.code == 2 {
            said.err_has("intent.toml:");
        }
    }
}

#[test]
fn too_large() {
    let mut text = SMALL.to_owned();
    while text.len() < 10_000_000 {
        text.push_str("# a comment that makes the file long\n");
    }
    let folder = project(text.as_bytes());
    run(&["check", &path(folder.path())])
        .code(2)
        .err_has("bytes; the most that is read is")
        .err_has("intent.toml:1:1");
}

#[test]
fn a_flood_of_errors_is_cut_short() {
    let flood: String = (0..100_000).map(|number| format!("k{number} = 1\n")).collect();
    let folder = project(flood.as_bytes());
    let said = run(&["check", &path(folder.path())]);
    said.code(2).err_has("more.");
    assert!(said.err.len() < 50_000, "{} bytes", said.err.len());
}

#[test]
fn deep_nesting() {
    for text in [
        format!("a = {}", "[".repeat(300_000)),
        format!("a{} = 1", ".a".repeat(300_000)),
        format!("[a{}]", ".a".repeat(300_000)),
    ] {
        let folder = project(text.as_bytes());
        run(&["check", &path(folder.path())]).code(2).err_has("intent.toml:1:");
    }
}

#[test]
fn not_utf8() {
    let mut bytes = SMALL.as_bytes().to_vec();
    let at = SMALL.find("Small").unwrap();
    bytes[at] = 0xff;
    let folder = project(&bytes);
    run(&["check", &path(folder.path())]).code(2).err_has("intent.toml:2:9").err_has("is not UTF-8");
}

#[test]
fn not_toml() {
    refused("[brief\nname = 1\n", "[brief", "error");
    refused("\u{0}\u{1b}[31m\n", "\u{0}", "error");
}

#[test]
fn wrong_types() {
    breaks("voltage = \"12 V\"", "voltage = 12", "no unit");
    breaks("voltage = \"12 V\"", "voltage = [\"12 V\"]", "a list stands where");
    breaks("count = 4", "count = \"two\"", "a text stands where");
    breaks("count = 4", "count = 4.5", "stands where");
    breaks("count = 4", "count = 1979-05-27", "a date stands where");
    breaks("vented = true", "vented = \"yes\"", "stands where");
    breaks(
        "[bank]\nchemistry = \"agm\"\ncapacity = \"75 Ah\"\nlength = \"0.8 m\"\n",
        "[[bank]]\n",
        "is not a table",
    );
    breaks("power = \"30 W\"", "power = \"12 V\"", "is a voltage");
}

#[test]
fn unknown_words_get_the_nearest() {
    breaks("capacity =", "capcity =", "Did you mean `capacity`?");
    breaks("craft = \"trailer\"", "craft = \"trialer\"", "Did you mean \"trailer\"?");
}

#[test]
fn numbers_that_cannot_be() {
    breaks("capacity = \"75 Ah\"", "capacity = \"0 Ah\"", "0 Ah is no possible capacity");
    breaks("capacity = \"75 Ah\"", "capacity = \"-100 Ah\"", "-100 Ah is no possible capacity");
    breaks("voltage = \"12 V\"", "voltage = \"1e308 V\"", "is no possible voltage");
    breaks("voltage = \"12 V\"", "voltage = \"13 V\"", "Write \"12 V\", \"24 V\", \"36 V\" or \"48 V\"");
    breaks("voltage = \"12 V\"", "voltage = \"0 V\"", "0 V is no possible voltage");
    breaks("voltage = \"12 V\"", "voltage = \"NaN V\"", "does not begin with a number");
    breaks("voltage = \"12 V\"", "voltage = nan", "nan");
    breaks("voltage = \"12 V\"", "voltage = \"1e999 V\"", "too large");
    breaks("power = \"30 W\"", "power = \"1e308 W\"", "is no possible power");
    breaks("power = \"30 W\"", "current = \"1e308 A\"", "is no possible current");
    breaks("power = \"30 W\"", "power = \"-12 W\"", "is no possible power");
    breaks("count = 4", "count = 1000000000", "1000000000");
    breaks("count = 4", "count = 0", "0 is no possible count");
    breaks("count = 4", "count = -1", "-1");
    breaks("length = \"3 m\"", "length = \"-3 m\"", "is no possible length");
    breaks("length = \"3 m\"", "length = \"0 m\"", "is no possible length");
    breaks("length = \"3 m\"", "length = \"9000 km\"", "km");
    breaks("hours = \"3 h/day\"", "hours = \"25 h/day\"", "is no possible hours");
    breaks("coldest = \"2 °C\"", "coldest = \"-300 °C\"", "absolute zero");
    breaks("coldest = \"2 °C\"", "coldest = \"-80 °C\"", "is no possible coldest");
    breaks("coldest = \"2 °C\"", "coldest = \"45 °C\"", "is above its hottest");
}

#[test]
fn duplicates() {
    refused(
        &format!("{SMALL}\n[loads.lights]\npower = \"5 W\"\n"),
        "[loads.lights]\npower = \"5 W\"",
        "duplicate",
    );
    refused(&SMALL.replace("count = 4", "power = \"6 W\""), "power = \"6 W\"", "duplicate");
}

#[test]
fn references_to_nothing() {
    breaks("count = 4", "panel = \"cabn\"", "Did you mean `cabin`?");
    breaks("count = 4", "zone = \"attic\"", "there is no zone `attic`");
    breaks("count = 4", "route = \"sill\"", "No route is declared");
    breaks("power = \"30 W\"", "part = \"led-spott\"", "Did you mean `led-spot`?");
    breaks("capacity = \"75 Ah\"", "part = \"agm-12v-100x\"", "there is no battery part");
}

#[test]
fn a_load_without_what_it_takes_or_where_it_hangs() {
    refused(&SMALL.replace("power = \"30 W\"\n", ""), "[loads.lights]", "does not say what it takes");
    // No panel at all: one is assumed or asked for, never a panic.
    let folder = project(SMALL.replace("[panels.cabin]\nlength = \"0.6 m\"\n", "").as_bytes());
    let said = run(&["check", &path(folder.path())]);
    assert!(matches!(said.code, 0 | 1), "{}", said.err);
    // A circuit whose loads are of two kinds of supply cannot be one circuit.
    let mixed = format!(
        "{SMALL}circuit = \"one\"\n\n[loads.kettle]\nsupply = \"ac\"\npower = \"800 W\"\ncircuit = \"one\"\n"
    );
    let folder = project(mixed.as_bytes());
    let said = run(&["check", &path(folder.path())]);
    assert!(matches!(said.code, 0 | 1), "{}", said.err);
}

#[test]
fn pins_and_built_changes_that_lead_nowhere_or_round() {
    let pins =
        "\n[pins]\n\"no.such.thing\" = \"2/0 AWG\"\n\"lights.positive.gauge\" = \"as big as it gets\"\n";
    let folder = project(format!("{SMALL}{pins}").as_bytes());
    let said = run(&["check", &path(folder.path())]);
    assert!(matches!(said.code, 0 | 1), "{}", said.err);
    said.out_has("no.such.thing").out_has("intent.toml:");
    // A converter that feeds the panel that it hangs on, and a change that joins a terminal to itself.
    for more in [
        "\n[converters.round]\npanel = \"cabin\"\n",
        "\n[[built]]\nadd_cable = \"loop\"\nfrom = \"lights.positive\"\nto = \"lights.positive\"\ngauge = \"10 AWG\"\nlength = \"1 m\"\n",
        "\n[[built]]\nmove_end = \"lights.positive\"\nfrom = \"nowhere\"\nto = \"lights.negative\"\n",
        "\n[[built]]\nleave_out = \"main.fuse\"\nchange = \"main.fuse\"\n",
        "\n[[built]]\n",
    ] {
        let folder = project(format!("{SMALL}{more}").as_bytes());
        let said = run(&["check", &path(folder.path())]);
        assert!(matches!(said.code, 0..=2), "{more}: {}", said.err);
        assert!(!said.out.is_empty() || !said.err.is_empty());
    }
}

#[test]
fn a_load_far_beyond_the_bank_is_refused_with_alternatives() {
    let text = SMALL.replace("power = \"30 W\"", "power = \"20000 W\"");
    let folder = project(text.as_bytes());
    run(&["check", &path(folder.path())]).code(1).out_has("refused").out_has("No schedule is issued");
    let papers = folder.path().join("out");
    run(&["pack", &path(folder.path())]).code(1).out_has("no schedule was issued");
    assert!(!papers.join("cables.csv").exists(), "no schedule of a refused system");
}

#[test]
fn own_parts_are_read_and_refused_like_the_rest() {
    let folder = project(SMALL.as_bytes());
    std::fs::create_dir(folder.path().join("parts")).unwrap();
    let file = folder.path().join("parts/mine.toml");
    std::fs::write(&file, "[gland.tiny]\ntitle = \"Gland\"\nprice = [\"1\"]\nmass = \"5 g\"\nsize = []\nsmallest = \"3 mm\"\nlargest = \"6 mm\"\nhole = \"12 mm\"\n").unwrap();
    run(&["check", &path(folder.path())]).code(0);
    run(&["parts", "tiny", "--project", &path(folder.path())]).code(0).out_has("gland");
    std::fs::write(&file, "[gland.tiny]\ntitle = \"Gland\"\nprice = [\"1\"]\nmass = \"-5 g\"\nsize = []\nsmallest = \"3 mm\"\nlargest = \"6 mm\"\nhole = \"12 mm\"\n").unwrap();
    run(&["check", &path(folder.path())]).code(2).err_has("mine.toml:4:").err_has("is no possible mass");
}

#[test]
fn paths_that_cannot_be_read() {
    run(&["check", "/no/such/folder"]).code(2).err_has("/no/such/folder").err_has("mend:");
    let folder = tempfile::tempdir().unwrap();
    run(&["check", &path(folder.path())]).code(2).err_has("intent.toml").err_has("wattwain begin");
    let odd = tempfile::tempdir().unwrap();
    std::fs::create_dir(odd.path().join("intent.toml")).unwrap();
    run(&["check", &path(odd.path())]).code(2).err_has("this is not a file");
    run(&["check", "/dev/null"]).code(2).err_has("this is not a file");
}

#[cfg(unix)]
#[test]
fn a_folder_without_permission() {
    use std::os::unix::fs::PermissionsExt;
    let folder = project(SMALL.as_bytes());
    let file = folder.path().join("intent.toml");
    std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o000)).unwrap();
    // Root reads everything, so there is nothing to test then.
    if std::fs::read(&file).is_err() {
        run(&["check", &path(folder.path())])
            .code(2)
            .err_has("intent.toml")
            .err_has("Ask for the right to it");
    }
    std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o644)).unwrap();
}

#[test]
fn nothing_is_written_over_unless_asked() {
    let folder = project(b"mine\n");
    let intent = folder.path().join("intent.toml");
    run(&["begin", &path(folder.path())]).code(2).err_has("is there already");
    assert_eq!(std::fs::read(&intent).unwrap(), b"mine\n");
    assert_eq!(
        std::fs::read_dir(folder.path()).unwrap().count(),
        1,
        "no schema and no temporary file is left"
    );

    let folder = project(SMALL.as_bytes());
    let out = folder.path().join("papers");
    let words = ["pack", &path(folder.path()), "--out", &path(&out)];
    run(&words).code(0).out_has("summary.md");
    let summary = out.join("summary.md");
    std::fs::write(&summary, "mine\n").unwrap();
    let before = std::fs::read_dir(&out).unwrap().count();
    run(&words).code(2).err_has("is there already").err_has("--replace");
    assert_eq!(std::fs::read(&summary).unwrap(), b"mine\n");
    run(&[words.as_slice(), &["--replace"]].concat()).code(0);
    assert_ne!(std::fs::read(&summary).unwrap(), b"mine\n");
    assert_eq!(std::fs::read_dir(&out).unwrap().count(), before, "no temporary file is left");

    // A file where the folder should be.
    let taken = folder.path().join("taken");
    std::fs::write(&taken, "mine\n").unwrap();
    run(&["pack", &path(folder.path()), "--out", &path(&taken)]).code(2).err_has("taken").err_has("mend:");
    assert_eq!(std::fs::read(&taken).unwrap(), b"mine\n");
}

#[test]
fn begin_needs_a_folder_that_can_be_made() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    std::fs::write(&file, "mine\n").unwrap();
    run(&["begin", &path(&file.join("below"))]).code(2).err_has("mend:");
}

#[cfg(unix)]
#[test]
fn a_closed_pipe_is_no_panic() {
    use std::process::{Command, Stdio};
    let mut child = Command::new(env!("CARGO_BIN_EXE_wattwain"))
        .arg("sources")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success() && said.is_empty(), "{said}");
}
