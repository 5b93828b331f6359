//! Conductor sizes: geometry against a published table, reading, order and the step from one series to the other.

use quantity::*;

/// ASTM B258, nominal diameters of AWG sizes: size, number in the formula, diameter [in], diameter [mm], circular mils, area [mm²].
/// The rows were worked out from the standard's formula by a separate program and agree with printed AWG tables
/// (4/0: 11.684 mm, 107 mm²; 10: 2.588 mm, 5.26 mm²). Formula from memory; rows computed, not seen printed one by one.
const ASTM_B258: &[(&str, i8, f64, f64, f64, f64)] = &[
    ("18 AWG", 18, 0.04030, 1.0237, 1624.3, 0.8230),
    ("16 AWG", 16, 0.05082, 1.2908, 2582.7, 1.3087),
    ("14 AWG", 14, 0.06408, 1.6277, 4106.7, 2.0809),
    ("12 AWG", 12, 0.08081, 2.0525, 6529.9, 3.3088),
    ("10 AWG", 10, 0.10190, 2.5882, 10383.0, 5.2612),
    ("8 AWG", 8, 0.12849, 3.2636, 16509.7, 8.3656),
    ("6 AWG", 6, 0.16202, 4.1154, 26251.4, 13.3018),
    ("4 AWG", 4, 0.20431, 5.1894, 41741.3, 21.1506),
    ("3 AWG", 3, 0.22942, 5.8273, 52634.8, 26.6705),
    ("2 AWG", 2, 0.25763, 6.5437, 66371.3, 33.6308),
    ("1 AWG", 1, 0.28930, 7.3481, 83692.7, 42.4077),
    ("1/0 AWG", 0, 0.32486, 8.2515, 105534.5, 53.4751),
    ("2/0 AWG", -1, 0.36480, 9.2658, 133076.5, 67.4309),
    ("3/0 AWG", -2, 0.40964, 10.4049, 167806.4, 85.0288),
    ("4/0 AWG", -3, 0.46000, 11.6840, 211600.0, 107.2193),
];

#[track_caller]
fn near(found: f64, expected: f64, relative: f64) {
    assert!((found / expected - 1.0).abs() <= relative, "{found} is not {expected}");
}

#[test]
fn awg_geometry_is_that_of_the_standard() {
    let series: Vec<Gauge> = ASTM_B258.iter().map(|row| Gauge::Awg(row.1)).collect();
    assert_eq!(series, Gauge::AWG);
    for (name, n, inches, mm, mils, area) in ASTM_B258 {
        let size = Gauge::Awg(*n);
        assert_eq!(size.to_string(), *name);
        assert_eq!(Gauge::parse(name), Ok(size));
        // One unit of the last digit printed in the table.
        assert!((size.diameter().get() / 0.0254 - inches).abs() <= 1e-5, "{name}");
        assert!((size.diameter().get() * 1000.0 - mm).abs() <= 1e-4, "{name}");
        assert!((size.circular_mils() - mils).abs() <= 0.1, "{name}");
        assert!((size.area().get() - area).abs() <= 1e-4, "{name}");
    }
}

#[test]
fn a_metric_size_has_its_nominal_cross_section() {
    // 35 mm² is a circle 6.676 mm wide: 4 · 35 / pi = 44.563, whose root is 6.6756.
    near(Gauge::Metric(3500).diameter().get(), 0.0066756, 1e-5);
    // 1 mm² is 1973.5 circular mils (NIST SP 811, from memory).
    near(Gauge::Metric(100).circular_mils(), 1973.5, 1e-4);
    assert!(Gauge::METRIC.is_sorted() && Gauge::AWG.is_sorted());
}

#[test]
fn sizes_are_read_as_they_are_named() {
    for (text, size, shown) in [
        ("2/0 AWG", Gauge::Awg(-1), "2/0 AWG"),
        ("2/0", Gauge::Awg(-1), "2/0 AWG"),
        ("00 AWG", Gauge::Awg(-1), "2/0 AWG"),
        ("0 AWG", Gauge::Awg(0), "1/0 AWG"),
        ("AWG 10", Gauge::Awg(10), "10 AWG"),
        ("10 AWG", Gauge::Awg(10), "10 AWG"),
        ("10awg", Gauge::Awg(10), "10 AWG"),
        ("#10 AWG", Gauge::Awg(10), "10 AWG"),
        ("AWG 4/0", Gauge::Awg(-3), "4/0 AWG"),
        ("22 AWG", Gauge::Awg(22), "22 AWG"),
        ("35 mm²", Gauge::Metric(3500), "35 mm²"),
        ("35 mm2", Gauge::Metric(3500), "35 mm²"),
        ("2.5mm²", Gauge::Metric(250), "2.5 mm²"),
        ("0.75 mm²", Gauge::Metric(75), "0.75 mm²"),
        ("120\u{a0}mm²", Gauge::Metric(12000), "120 mm²"),
        ("240 sq mm", Gauge::Metric(24000), "240 mm²"),
    ] {
        assert_eq!(Gauge::parse(text), Ok(size), "{text}");
        assert_eq!(size.show(), shown, "{text}");
        assert_eq!(Gauge::parse(shown), Ok(size), "{text}");
    }
}

#[test]
fn doubtful_sizes_are_refused() {
    const SAE: &str = "SAE gauge wire holds about 6 to 12 % less copper than AWG of the same number; write the size as `10 AWG` if it is AWG, or its metal as `5 mm²`";
    const AWG: &str = "write a size from `30 AWG` to `1 AWG`, or `1/0 AWG` to `4/0 AWG`";
    for (text, message, hint) in [
        ("10", "`10` does not say whether it is AWG or mm²", "write `10 AWG` or `10 mm²`"),
        ("2.5", "`2.5` does not say whether it is AWG or mm²", "write `2.5 mm²`"),
        ("10 gauge", "`10 gauge` may mean SAE gauge or AWG", SAE),
        ("10 ga", "`10 ga` may mean SAE gauge or AWG", SAE),
        ("SAE 10", "`SAE 10` may mean SAE gauge or AWG", SAE),
        ("5/0", "`5/0` is not an AWG size", AWG),
        ("-1 AWG", "`-1 AWG` is not an AWG size", AWG),
        ("99 AWG", "`99 AWG` is not an AWG size", AWG),
        ("AWG", "`AWG` is not an AWG size", AWG),
        (
            "250 kcmil",
            "`250 kcmil` is a size in thousands of circular mils, which is not read here",
            "write its cross-section, such as `120 mm²`; 1 kcmil is 0.5067 mm²",
        ),
        (
            "2.505 mm²",
            "`2.505 mm²` is not a conductor size",
            "write a size such as `2.5 mm²` or `35 mm²`, between 0.01 mm² and 1000 mm², with at most two decimals",
        ),
        ("2,5 mm²", "`2,5 mm²` has a comma in its number", "write 2.5, not 2,5"),
        ("35 mm", "`35 mm` is a length", "here a conductor size is wanted, such as `2/0 AWG`"),
        ("", "nothing is written", "here a conductor size is wanted, such as `2/0 AWG`"),
        (
            "copper",
            "`copper` does not begin with a number",
            "here a conductor size is wanted, such as `2/0 AWG`",
        ),
    ] {
        let error = Gauge::parse(text).unwrap_err();
        assert_eq!((error.message().as_str(), error.hint().as_str()), (message, hint), "{text}");
    }
}

#[test]
fn the_other_series_never_has_less_metal() {
    // By the areas of ASTM B258 above: 10 AWG is 5.261 mm², so 6 mm² has 14.0 % more; 2 AWG is 33.63 mm², 35 mm² 4.07 % more;
    // 4/0 AWG is 107.2 mm², 120 mm² 11.9 % more; 50 mm² lies between 1 AWG (42.41) and 1/0 (53.48, 6.95 % more).
    for (from, to, excess) in [
        (Gauge::Awg(10), Gauge::Metric(600), 0.1404),
        (Gauge::Awg(2), Gauge::Metric(3500), 0.0407),
        (Gauge::Awg(-3), Gauge::Metric(12000), 0.1192),
    ] {
        let nearest = from.nearest_metric_not_smaller().unwrap();
        assert_eq!(nearest.size, to);
        assert!((nearest.excess.get() - excess).abs() < 1e-4, "{from}: {:?}", nearest.excess);
    }
    let nearest = Gauge::Metric(5000).nearest_awg_not_smaller().unwrap();
    assert_eq!(nearest.size, Gauge::Awg(0));
    assert!((nearest.excess.get() - 0.0695).abs() < 1e-4);
    assert_eq!(Gauge::Metric(12000).nearest_awg_not_smaller(), None);
    assert_eq!(Gauge::Metric(30000).nearest_metric_not_smaller(), None);
    assert_eq!(Gauge::Metric(3500).nearest_metric_not_smaller().unwrap().size, Gauge::Metric(3500));
    for size in Gauge::AWG.iter().chain(Gauge::METRIC) {
        for nearest in
            [size.nearest_awg_not_smaller(), size.nearest_metric_not_smaller()].into_iter().flatten()
        {
            assert!(nearest.size.area() >= size.area() && nearest.excess >= Fraction::zero());
        }
    }
}

#[test]
fn a_size_is_a_text_in_files() {
    assert_eq!(serde_json::to_string(&Gauge::Awg(-1)).unwrap(), "\"2/0 AWG\"");
    assert_eq!(serde_json::from_str::<Gauge>("\"35 mm²\"").unwrap(), Gauge::Metric(3500));
    let error = serde_json::from_str::<Gauge>("10").unwrap_err().to_string();
    assert!(
        error.starts_with("`10` does not say whether it is AWG or mm²; write `10 AWG` or `10 mm²`"),
        "{error}"
    );
}

#[test]
fn any_size_can_be_shown() {
    for n in i8::MIN..=i8::MAX {
        assert!(Gauge::Awg(n).show().ends_with("AWG"));
    }
    assert_eq!(Gauge::Metric(u32::MAX).show(), "42949672.95 mm²");
    assert_eq!(Gauge::Metric(0).show(), "0 mm²");
}
