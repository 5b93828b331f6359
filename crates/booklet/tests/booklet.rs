//! The booklet, read back by another reader of PDF: what stands in it, where, and that nothing breaks it.
//! Never: compares with an earlier booklet of ours.
//! Start at `every_example_on_both_papers`.
// A panic is the failure here.
#![allow(clippy::unwrap_used)]

mod common;

use booklet::{Pages, Paper, Picture, booklet};
use common::{EXAMPLES, Made, Pdf, bare};

const PARTS: [&str; 10] = [
    "Brief",
    "Energy",
    "Findings",
    "Drawings",
    "Schedules",
    "Build order",
    "Commissioning",
    "Labels",
    "Reasons",
    "Sources",
];

#[test]
fn every_example_on_its_paper_and_one_on_both() {
    // ISO 216: 210 mm by 297 mm. ANSI/ASME Y14.1: 8.5 in by 11 in.
    const A4: (&str, f64, f64) = ("booklet-a4.pdf", 210.0, 297.0);
    const LETTER: (&str, f64, f64) = ("booklet-letter.pdf", 215.9, 279.4);
    for name in EXAMPLES {
        let made = Made::example(name);
        let is_refused = !made.system.refusals.is_empty();
        let papers = match (name, Paper::of(made.system.rules)) {
            ("heron", _) => vec![A4, LETTER],
            (_, Paper::A4) => vec![A4],
            (_, Paper::Letter) => vec![LETTER],
        };
        for (file, width, height) in papers {
            let pdf = Pdf::of(&made.booklet(file));
            let close = |a: f64, b: f64| (a - b).abs() < 0.02;
            for (x, y) in pdf.sizes() {
                assert!(
                    close(x, width) && close(y, height) || close(x, height) && close(y, width),
                    "{name} {file}: {x} by {y}"
                );
            }
            let (text, pages) = (pdf.raw(), pdf.pages());
            assert!(text.contains(&format!("{pages} of {pages}")), "{name} {file}: numbered to the end");
            assert_eq!(text.matches('\u{c}').count(), pages, "{name}");
            assert!(bare(&text).contains(&bare(pack::SAFETY)), "{name}: the safety note");
            let info = pdf.info();
            assert!(info.contains(&format!("Title:           {}", made.system.name)), "{info}");
            assert!(!info.contains("CreationDate") && !info.contains("ModDate"), "{info}");
            assert!(info.lines().any(|line| line.starts_with("Tagged:") && line.ends_with("yes")), "{info}");
            let heads: Vec<String> = pdf.bookmarks();
            let mut rest = heads.iter();
            let wanted = if is_refused { vec!["Brief", "Refused", "Findings"] } else { PARTS.to_vec() };
            for part in wanted {
                assert!(rest.any(|head| head.ends_with(part)), "{name} {file}: {part} in {heads:?}");
            }
            assert!(!is_refused || !text.contains("Build order"), "{name}: nothing to build from");
        }
    }
}

#[test]
fn every_row_of_every_schedule_stands() {
    let made = Made::example("heron");
    let text = bare(&Pdf::of(&made.booklet("booklet-letter.pdf")).raw());
    let (summary, tables, order) = made.content();
    let mut seen = 0;
    for table in &tables {
        // Findings and the build order have parts of their own, in words that are looked for below.
        for row in table.rows.iter().filter(|_| !["findings", "build-order"].contains(&table.name)) {
            for (cell, column) in row.iter().zip(&table.columns) {
                let shown = match cell {
                    pack::Cell::Empty => continue,
                    pack::Cell::Text(text) => text.clone(),
                    pack::Cell::Number(number) => format!("{number:.*}", usize::from(column.decimals)),
                };
                // A long cell may go over a page, whose head and foot then stand within one of its pieces.
                let pieces: Vec<String> = if shown.len() > 350 {
                    shown.split("; ").map(bare).collect()
                } else {
                    vec![bare(&shown)]
                };
                // Where it shares a column with words, a number has no decimals that say nothing.
                let plain =
                    if let pack::Cell::Number(number) = cell { number.to_string() } else { shown.clone() };
                let is_there = |piece: &String| text.contains(piece) || text.contains(&bare(&plain));
                let missing = pieces.iter().filter(|piece| !is_there(piece)).count();
                assert!(missing <= usize::from(pieces.len() > 1), "{} {}: {shown}", table.name, column.key);
                seen += 1;
            }
        }
    }
    assert!(seen > 2000, "{seen} cells");
    for step in &order.steps {
        assert!(text.contains(&bare(&step.title)), "{}", step.title);
        for told in step.lines.iter().chain(&step.cautions) {
            assert!(text.contains(&bare(told)), "{told}");
        }
        for measure in &step.measures {
            assert!(text.contains(&bare(&pack::measure_line(measure))), "{}", measure.what);
        }
    }
    for expected in made.expected() {
        for shown in [&expected.title, &expected.shown] {
            assert!(text.contains(&bare(shown)), "{shown}");
        }
        // What a stretch of readings has in common is said once, above it.
        for told in expected.how.split(". ").chain(expected.caution.as_deref()) {
            assert!(text.contains(&bare(told)), "{told}");
        }
    }
    for finding in &summary.findings {
        assert!(text.contains(&bare(&finding.message)), "{}", finding.message);
    }
    for source in &summary.sources {
        assert!(text.contains(&bare(&source.title)), "{}", source.title);
    }
}

#[test]
fn every_answer_stands() {
    let made = Made::example("heron");
    let (mut summary, tables, order) = made.content();
    let mut finding = made.findings.first().unwrap().clone();
    finding.severity = rules::Severity::Danger;
    finding.answered = Some("the owner has it looked at every spring".to_owned());
    summary.findings = vec![finding.clone(), {
        finding.answered = None;
        finding
    }];
    let pages = Pages {
        summary: &summary,
        tables: &tables,
        order: &order,
        expected: &made.expected(),
        pictures: &[],
    };
    let pdf = Pdf::of(&booklet(&pages, Paper::A4).unwrap());
    let text = bare(&pdf.raw());
    assert!(
        text.contains("theownerhasitlookedateveryspring")
            && text.contains("notanswered:menditbeforebuilding")
    );
    assert!(text.contains("1ofthedangersarenotanswered"), "on the cover");
}

/// Nothing is set over the margins, and no ink comes near the edge, which printers cut off.
#[test]
fn nothing_runs_over_an_edge() {
    for (name, file) in
        [("heron", "booklet-letter.pdf"), ("marten", "booklet-a4.pdf"), ("faulty", "booklet-a4.pdf")]
    {
        let pdf = Pdf::of(&Made::example(name).booklet(file));
        let (words, sizes) = (pdf.words(), pdf.sizes());
        let mut sheets = Vec::new();
        for (at, (width, height)) in sizes.iter().enumerate() {
            let on = || words.iter().filter(|word| word.page == at + 1);
            // A sheet of labels has neither head nor foot, and its own margins.
            let is_sheet = !on().any(|word| word.text == "licensed");
            if is_sheet {
                sheets.push(at);
                continue;
            }
            assert!(on().count() > 12, "{name}: page {} is all but blank", at + 1);
            // An enlarged part of a drawing holds the rest of the drawing too, cut off at its frame.
            let is_name = |text: &str| text.len() == 2 && text.starts_with(['A', 'B', 'C', 'D']);
            let is_part = on().any(|word| word.text == "part" && word.top < 32.0)
                && on().any(|word| is_name(&word.text) && word.top < 32.0);
            for word in on().filter(|_| !is_part) {
                assert!(
                    word.left > 15.0
                        && word.right < width - 14.5
                        && word.top > 7.0
                        && word.bottom < height - 7.0,
                    "{name} page {}: {word:?} on {width} by {height}",
                    at + 1
                );
            }
        }
        // At 51 to the inch two pixels are a millimetre.
        let pages = pdf.grey(51, 1, sizes.len());
        for (at, page) in pages.iter().enumerate().filter(|(at, _)| !sheets.contains(at)) {
            for y in 0..page.height {
                for x in 0..page.width {
                    let is_edge = x < 24 || y < 12 || x + 24 >= page.width || y + 12 >= page.height;
                    assert!(!is_edge || !page.is_dark(x, y), "{name} page {}: ink at {x}, {y}", at + 1);
                }
            }
        }
    }
}

#[test]
fn print_is_never_smaller_than_six_points() {
    // The picture is a metre wide with type of 2 mm, so as a whole it could not be read.
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='1000mm' height='300mm' viewBox='0 0 1000 300'>\
               <rect x='1' y='1' width='998' height='298' fill='none' stroke='black'/>\
               <text x='10' y='20' font-family='DejaVu Sans' font-size='2'>HHHHHHHH</text></svg>";
    let made = Made::example("wren");
    let (summary, _, order) = made.content();
    let picture = Picture {
        name: "wide".to_owned(),
        title: "Wide".to_owned(),
        caption: String::new(),
        svg: svg.to_owned(),
    };
    let pages = Pages { summary: &summary, tables: &[], order: &order, expected: &[], pictures: &[picture] };
    let pdf = Pdf::of(&booklet(&pages, Paper::A4).unwrap());
    let words = pdf.words();
    let part =
        words.windows(2).find(|pair| pair[0].text == "part" && pair[1].text == "A1").expect("a part A1");
    let word = words.iter().find(|word| word.page == part[0].page && word.text == "HHHHHHHH").unwrap();
    // An H of DejaVu Sans is 1540 of 2048 units wide, by the font's own table.
    let points = (word.right - word.left) / 8.0 / (1540.0 / 2048.0) * 72.0 / 25.4;
    assert!(points > 5.95, "{points} pt");
}

#[test]
fn the_same_project_gives_the_same_bytes() {
    let made = Made::example("marten");
    let first = made.booklet("booklet-a4.pdf");
    let other = Made::example("wren").booklet("booklet-letter.pdf");
    assert_eq!(first, made.booklet("booklet-a4.pdf"));
    assert_ne!(first, other);
    let again = std::thread::spawn(|| Made::example("marten").booklet("booklet-a4.pdf")).join().unwrap();
    assert_eq!(first, again);
}

#[test]
fn no_name_means_anything_to_the_setter() {
    let names = [
        "#panic()",
        "$x$ #let y = 1",
        "<b>&amp;</b>",
        "*bold* _it_ `raw` = head @ref // gone",
        "#import \"/data.json\"",
        "\\u{41} \\ ] } ) #[",
        "🚐⚡👩‍🔧",
        "\u{202E}drow",
        "a\nb\tc",
        "",
        " ",
    ];
    let long = "x".repeat(400);
    let made = Made::example("wren");
    for name in names.into_iter().chain([long.as_str()]) {
        let (mut summary, mut tables, mut order) = made.content();
        summary.name = name.to_owned();
        if let Some(step) = order.steps.first_mut() {
            step.title = name.to_owned();
            step.lines = vec![name.to_owned(); 3];
            step.cautions = vec![name.to_owned()];
        }
        // A few of each kind show it as well as hundreds.
        order.steps.truncate(6);
        for table in &mut tables {
            table.rows.truncate(4);
            for row in table.rows.iter_mut().take(2) {
                row.iter_mut().for_each(|cell| *cell = name.into());
            }
        }
        let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='90mm' height='40mm' viewBox='0 0 90 40'><text y='9' font-size='4'>a</text></svg>";
        let picture = Picture {
            name: name.to_owned(),
            title: name.to_owned(),
            caption: name.to_owned(),
            svg: svg.to_owned(),
        };
        let mut expected = made.expected();
        expected.truncate(6);
        if let Some(reading) = expected.first_mut() {
            reading.title = name.to_owned();
        }
        let pages = Pages {
            summary: &summary,
            tables: &tables,
            order: &order,
            expected: &expected,
            pictures: &[picture],
        };
        let pdf = Pdf::of(&booklet(&pages, Paper::A4).unwrap_or_else(|error| panic!("{name}: {error}")));
        for word in pdf.words() {
            assert!(word.right < 298.0 - 14.0 && word.left > 14.0, "{name}: {word:?}");
        }
        if name.is_ascii() {
            assert!(bare(&pdf.raw()).contains(&bare(name)), "{name} stands as it was written");
        }
    }
}

#[test]
fn what_is_no_picture_is_refused_with_its_name() {
    let made = Made::example("wren");
    let (summary, tables, order) = made.content();
    for svg in
        ["", "not a picture", "<svg width='2mm' height='NaN'/>", "<svg viewBox='0 0 5 5'><broken</svg>"]
    {
        let picture = Picture {
            name: "odd".to_owned(),
            title: String::new(),
            caption: String::new(),
            svg: svg.to_owned(),
        };
        let pages =
            Pages { summary: &summary, tables: &tables, order: &order, expected: &[], pictures: &[picture] };
        assert!(booklet(&pages, Paper::A4).is_err(), "{svg}");
    }
}
