//! Charts: texts in the frame and apart, bars as high as their values, the same bytes, names escaped.
//! Never: takes the drawing's word for it; `roxmltree` reads the SVG and `ttf-parser` measures the texts.
//! Start at `every_text_stands_in_the_frame_and_apart`; charts of extreme numbers are in `charts_extreme.rs`.

mod sample;
mod seen;

use drawing::chart::{Mark, charge_over_the_year, months, nice_ticks, trade_off, trip_days, worst_week};
use seen::{axis, bars, boxes, has_text, num, of_series, read, texts};

#[test]
fn every_text_stands_in_the_frame_and_apart() {
    for (name, svg) in sample::all() {
        seen::texts_stand_apart(name, &svg);
    }
}

// Against the printed numbers of the axis, which a reader goes by, and not against another bar.
#[test]
fn bars_are_as_high_as_the_axis_says() {
    let year = sample::year();
    let svg = months(&year);
    let doc = read(&svg);
    let axis = axis(&doc);
    // Heights are written with two decimals.
    let near = |height: f64, wh: f64| (axis.value(height) - wh / 1000.0).abs() < axis.value(0.02);
    let present =
        |value: &dyn Fn(usize) -> f64| (0..12).filter(|m| value(*m) > 0.0).map(value).collect::<Vec<_>>();
    let b = |m: usize| &year.months[m].books;
    let series: [(&str, Vec<f64>); 8] = [
        ("Sun", present(&|m| b(m).sun_wh)),
        ("Shore", present(&|m| b(m).shore_wh)),
        ("Generator", present(&|m| b(m).generator_wh)),
        ("DC loads", present(&|m| b(m).loads_dc_wh)),
        ("Idle draw", present(&|m| b(m).idle_wh)),
        ("Sun left over", present(&|m| b(m).curtailed_wh)),
        ("Given up", present(&|m| b(m).given_up_wh)),
        ("Short", present(&|m| b(m).short_wh)),
    ];
    for (name, values) in series {
        let drawn = bars(&doc, name);
        assert_eq!(drawn.len(), values.len(), "{name}");
        for (bar, value) in drawn.iter().zip(values) {
            assert!(near(bar[3], value), "{name}: {} for {value}", axis.value(bar[3]));
        }
    }
    // The lowest part of a bar stands on the axis's zero.
    for bar in bars(&doc, "Sun") {
        assert!((bar[1] + bar[3] - axis.zero).abs() < 0.02);
    }
}

#[test]
fn both_bars_of_a_month_are_the_same_height() {
    let svg = months(&sample::year());
    let doc = read(&svg);
    let top = |names: &[&str], x: f64| {
        let parts = names.iter().flat_map(|name| bars(&doc, name)).filter(|bar| (bar[0] - x).abs() < 0.02);
        parts.map(|bar| bar[1]).fold(f64::INFINITY, f64::min)
    };
    let (left, right) = (bars(&doc, "Sun"), bars(&doc, "DC loads"));
    assert_eq!((left.len(), right.len()), (12, 12));
    for (left, right) in left.iter().zip(&right) {
        let came = top(&["Sun", "Engine", "Shore", "Generator", "Out of the bank"], left[0]);
        let went = top(&["DC loads", "AC loads", "Idle draw", "Losses", "Into the bank"], right[0]);
        assert!((came - went).abs() < 0.03, "{came} and {went}");
    }
}

#[test]
fn what_went_short_is_told_without_colour() {
    let (year, week) = (sample::year(), sample::week());
    let (months, week_svg) = (months(&year), worst_week(&week, Some(0.2)));
    let doc = read(&months);
    let mean = |wh: fn(&energy::Books) -> f64| year.months.iter().filter(|m| wh(&m.books) > 0.0).count();
    assert_eq!(of_series(&doc, "short").len(), mean(|b| b.short_wh));
    assert_eq!(of_series(&doc, "given up").len(), mean(|b| b.given_up_wh));
    // A hatch of its own: no other series has it.
    let fill_of = |name: &str| of_series(&doc, name)[0].attribute("fill").expect("a fill").to_owned();
    assert!(fill_of("Short").starts_with("url("));
    for other in
        ["DC loads", "AC loads", "Idle draw", "Losses", "Given up", "Sun", "Engine", "Shore", "Generator"]
    {
        assert_ne!(fill_of("Short"), fill_of(other), "{other}");
    }
    // In the week a bar of marks covers each short hour and no other.
    let doc = read(&week_svg);
    let slot = 310.0 / week.soc.len() as f64;
    let marked = |hour: usize| {
        let middle = 40.0 + (hour as f64 + 0.5) * slot;
        of_series(&doc, "short hours").iter().any(|node| {
            let [from, _, to, _] = boxes(node);
            from < middle && middle < to
        })
    };
    for (hour, short) in week.short_w.iter().enumerate() {
        assert_eq!(marked(hour), *short > 0.0, "hour {hour}");
    }
}

#[test]
fn every_text_that_carries_meaning_is_there() {
    let all = sample::all();
    for (name, words) in [
        ("months", &["Jan", "Dec", "Sun", "Short", "Given up", "Into the bank", "kWh a month"][..]),
        (
            "charge",
            &["Jan", "Dec", "typical", "median", "9 in 10", "half", "floor 10 %", "1000 years", "% charge"],
        ),
        (
            "week",
            &["9 Jan", "15 Jan", "Engine", "% charge", "floor 20 %", "Short", "no sun", "W, came in above"],
        ),
        ("chance", &["Jan", "Dec", "% of years", "Of 1000 years", "260", "95 % sure"]),
        ("trip", &["12 Jan", "20 Jan", "Loads and losses", "start to end of the day", "lowest of the day"]),
        ("trade", &["cost [EUR]", "front", "other", "as it is now", "chosen", "Mass:", "runs out", "money"]),
        ("long-trip", &["Short"]),
        ("bare-charge", &["no line to show"]),
        ("bare-months", &["nothing came in", "no bars to show"]),
        ("bare-week", &["nothing to show"]),
        ("bare-empty-week", &["nothing to show"]),
        ("bare-chance", &["No years of weather were studied"]),
        ("bare-no-trade", &["There are no designs"]),
        ("bare-lost-trade", &["None of the designs"]),
        ("bare-trade", &["Left out", ": 1"]),
        ("bare-trip", &["no days"]),
    ] {
        let svg = &all.iter().find(|chart| chart.0 == name).unwrap_or_else(|| panic!("{name} is drawn")).1;
        let doc = read(svg);
        for word in words {
            assert!(has_text(&doc, word), "{name}: {word}");
        }
    }
}

#[test]
fn a_small_chance_is_not_shown_as_none() {
    let mut years = sample::years();
    years.months[4].running_out = energy::Chance::of(1, 10_000);
    let svg = drawing::chart::running_out(&years);
    let list = texts(&read(&svg));
    let above = |name: &str| {
        let month = list.iter().find(|text| text.text == name).expect("a month").middle();
        let is_here = |text: &&seen::Text| text.has_halo && (text.middle() - month).abs() < 1.0;
        list.iter().find(is_here).map(|text| text.text.as_str())
    };
    // 120, 2, 1 of 10,000 and none of the years, by `sample::years`.
    assert_eq!(["Jan", "Apr", "May", "Jun"].map(above), [Some("12"), Some("0.2"), Some("<0.1"), Some("0")]);
}

#[test]
fn an_empty_chart_has_a_sentence_and_no_axes() {
    for (name, svg) in sample::all().iter().filter(|chart| chart.1.contains("data-series=\"empty\"")) {
        let doc = read(svg);
        assert!(name.starts_with("bare"), "{name}");
        assert!(of_series(&doc, "rule").is_empty(), "{name}");
        assert!(texts(&doc).iter().any(|text| text.text.ends_with('.')), "{name}");
    }
}

#[test]
fn the_same_input_gives_the_same_bytes_and_names_are_escaped() {
    assert_eq!(sample::all(), sample::all());
    for (_, svg) in sample::all() {
        let doc = read(&svg);
        for tag in ["title", "desc"] {
            assert_eq!(doc.root_element().children().filter(|n| n.has_tag_name(tag)).count(), 1);
        }
        assert!(drawing::to_png(&svg, 360).is_ok());
    }
    assert!(sample::all()[1].1.contains("&lt;climate&gt; &amp;"));
}

#[test]
fn a_missing_value_breaks_the_line_and_the_band() {
    let mut week = sample::week();
    week.soc[50] = f64::NAN;
    let svg = worst_week(&week, None);
    let doc = read(&svg);
    let pieces = |node: &roxmltree::Node| node.attribute("d").expect("a path").matches('M').count();
    assert_eq!(pieces(&of_series(&doc, "charge")[0]), 2);

    let (mut years, mut year) = (sample::years(), sample::year());
    years.band[100][2] = f64::NAN;
    years.band[200] = [f64::NAN; 5];
    year.days[300].0 = f64::NAN;
    let svg = charge_over_the_year(Some(&years), &year, None);
    let doc = read(&svg);
    for (series, wanted) in [("band", 2), ("median", 3), ("typical", 2)] {
        assert!(of_series(&doc, series).iter().all(|node| pieces(node) == wanted), "{series}");
    }
}

#[test]
fn the_median_lies_over_the_typical_year() {
    let svg = charge_over_the_year(Some(&sample::years()), &sample::year(), Some(0.1));
    let at = |series: &str| svg.find(&format!("data-series=\"{series}\"")).expect("drawn");
    assert!(at("band") < at("typical") && at("typical") < at("median"));
}

#[test]
fn no_design_is_dropped_in_silence() {
    let marks = sample::marks();
    let svg = trade_off(&marks, "EUR");
    let doc = read(&svg);
    assert_eq!(of_series(&doc, "mark").len(), marks.len());
    for mark in marks.iter().filter(|mark| mark.is_front || mark.is_current || mark.is_chosen) {
        assert!(has_text(&doc, &mark.label), "{}", mark.label);
    }
    // More than the table holds: said in words.
    let many: Vec<Mark> = (0..70)
        .map(|at| {
            let a = f64::from(at);
            Mark { cost: a, mass_kg: a, chance: 1.0 - a / 70.0, is_front: true, ..Mark::default() }
        })
        .collect();
    assert!(trade_off(&many, "EUR").contains("and 40 more of the front"));
}

#[test]
fn designs_at_one_place_share_a_text() {
    let one = Mark { cost: 900.0, mass_kg: 40.0, chance: 0.2, is_front: true, ..Mark::default() };
    let two = Mark { label: "second".to_owned(), is_current: true, ..one.clone() };
    let far = Mark { cost: 1900.0, chance: 0.1, label: "far".to_owned(), ..one.clone() };
    let svg = trade_off(&[Mark { label: "first".to_owned(), ..one }, two, far], "EUR");
    let doc = read(&svg);
    assert!(has_text(&doc, "1 first; 2 second"));
    assert!(has_text(&doc, "3 far"));
}

#[test]
fn dates_of_a_long_trip_stand_evenly_apart() {
    let days = sample::long_trip();
    let svg = trip_days(&days);
    let doc = read(&svg);
    let xs: Vec<f64> = texts(&doc)
        .iter()
        .filter(|text| text.text.ends_with("Apr") || text.text.ends_with("May"))
        .map(|t| t.middle())
        .collect();
    assert!(xs.len() >= 5 && texts(&doc).iter().any(|text| text.text == "3 Apr"), "{}", xs.len());
    let step = xs[1] - xs[0];
    assert!(xs.windows(2).all(|pair| (pair[1] - pair[0] - step).abs() < 0.1), "{xs:?}");
}

// A text without paper around it lies on no bar and no mark.
#[test]
fn texts_lie_on_no_bar_and_no_mark() {
    for (name, svg) in sample::all() {
        let doc = read(&svg);
        let solid: Vec<[f64; 4]> =
            ["Sun", "DC loads", "Short", "chance", "mark", "chosen", "current", "short", "given up"]
                .iter()
                .flat_map(|series| of_series(&doc, series))
                .map(|node| boxes(&node))
                .collect();
        for text in texts(&doc) {
            for place in &solid {
                let [a, b] = [text.place, *place];
                let is_apart = a[0] >= b[2] || b[0] >= a[2] || a[1] >= b[3] || b[1] >= a[3];
                assert!(is_apart || text.has_halo, "{name}: {} on {place:?}", text.text);
            }
        }
    }
}

// Heckbert 1990, "Nice numbers for graph labels", Graphics Gems: steps are 1, 2 or 5 times a power of ten and the
// ticks enclose the data. Its example, from memory: 105 to 543 gives 100, 200, ... 600.
#[test]
fn ticks_are_heckberts() {
    assert_eq!(nice_ticks(105.0, 543.0, 5), [100.0, 200.0, 300.0, 400.0, 500.0, 600.0]);
    for (low, high) in [(0.0, 0.037), (-7.0, 12.0), (1e6, 1.3e6), (0.0, 0.0), (f64::NAN, f64::NAN)] {
        let ticks = nice_ticks(low, high, 5);
        let step = ticks[1] - ticks[0];
        let lead = step / 10f64.powf((step * 1.000_001).log10().floor());
        assert!([1.0, 2.0, 5.0].iter().any(|nice| (lead - nice).abs() < 1e-6), "{low} to {high}: {step}");
        assert!(low.is_nan() || ticks[0] <= low && ticks[ticks.len() - 1] >= high - 1e-9);
    }
}

#[test]
fn the_axis_of_the_week_counts_both_ways() {
    let svg = worst_week(&sample::week(), None);
    let doc = read(&svg);
    assert!(texts(&doc).iter().all(|text| !text.text.starts_with('-')));
    assert!(num(&of_series(&doc, "key")[0], "x") > 0.0);
}
