//! How wide and high text is, so that nothing overlaps: advance widths of DejaVu Sans, and line breaking.
//! Never: draws. Common sans-serif fonts are as wide or narrower, so a drawing holds in them too.
//! Start at [`width`] and [`wrap`].

/// Size of small print \[mm\]: ratings, conductors. Nothing on a sheet is smaller.
pub const SMALL: f64 = 2.5;
/// Size of titles of devices \[mm\].
pub const MAIN: f64 = 2.8;
/// Baseline to baseline, as a multiple of the size.
pub const LINE: f64 = 1.26;

/// Units of an em in the table below.
const EM: f64 = 2048.0;

/// Width of a text \[mm\] set in `size` \[mm\]. A character outside the table counts as the widest of a usual font.
pub fn width(text: &str, size: f64, is_bold: bool) -> f64 {
    let table = if is_bold { &BOLD } else { &REGULAR };
    let units: f64 = text
        .chars()
        .map(|c| {
            let at = (c as usize).checked_sub(0x20).and_then(|at| table.get(at)).copied();
            match (at, c) {
                (Some(width), _) => f64::from(width),
                (None, 'Ω' | '→' | '▷' | '−' | '≤' | '≥' | 'Δ' | '–' | '‘' | '’') => 1741.0,
                (None, _) => 2.0 * EM,
            }
        })
        .sum();
    units / EM * size
}

/// Breaks a text at spaces into at most `lines` lines no wider than `most` \[mm\]; what does not fit ends in `…`.
pub fn wrap(text: &str, size: f64, is_bold: bool, most: f64, lines: usize) -> Vec<String> {
    let fits = |line: &str| width(line, size, is_bold) <= most;
    let mut done: Vec<String> = Vec::new();
    let mut line = String::new();
    let mut words = text.split_whitespace().peekable();
    while let Some(word) = words.next() {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if done.len() + 1 >= lines || line.is_empty() {
            // The last line, or a single word that is too wide: cut it.
            let mut cut: String = longer;
            while cut.pop().is_some() && !fits(&format!("{}…", cut.trim_end())) {}
            let cut = format!("{}…", cut.trim_end());
            if done.len() + 1 >= lines || words.peek().is_none() {
                done.push(cut);
                return done;
            }
            done.push(cut);
            continue;
        }
        done.push(std::mem::replace(&mut line, word.to_owned()));
        if !fits(&line) {
            let mut cut = std::mem::take(&mut line);
            while cut.pop().is_some() && !fits(&format!("{cut}…")) {}
            done.push(format!("{cut}…"));
            if done.len() >= lines {
                return done;
            }
        }
    }
    if !line.is_empty() {
        done.push(line);
    }
    done
}

/// Breaks a text into as many lines as it takes, none wider than `most` \[mm\], and loses nothing: a word that is too wide
/// by itself is broken behind a hyphen or full stop, else between two letters.
pub fn whole(text: &str, size: f64, is_bold: bool, most: f64) -> Vec<String> {
    let fits = |line: &str| width(line, size, is_bold) <= most;
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            if !line.is_empty() && !fits(&format!("{line}{c}")) {
                let cut = line.rfind(['-', '.']).map(|at| at + 1).filter(|at| *at < line.len());
                let rest = cut.map(|at| line.split_off(at)).unwrap_or_default();
                lines.push(std::mem::replace(&mut line, rest));
            }
            line.push(c);
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

// Advance widths of U+0020 to U+017F, DejaVu Sans and DejaVu Sans Bold 2.37; a test compares them with the font.
#[rustfmt::skip]
const REGULAR: [u16; 352] = [
    651, 821, 942, 1716, 1303, 1946, 1597, 563, 799, 799, 1024, 1716, 651, 739, 651, 690,
    1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 690, 690, 1716, 1716, 1716, 1087,
    2048, 1401, 1405, 1430, 1577, 1294, 1178, 1587, 1540, 604, 604, 1343, 1141, 1767, 1532, 1612,
    1235, 1612, 1423, 1300, 1251, 1499, 1401, 2025, 1403, 1251, 1403, 799, 690, 799, 1716, 1024,
    1024, 1255, 1300, 1126, 1300, 1260, 721, 1300, 1298, 569, 569, 1186, 569, 1995, 1298, 1253,
    1300, 1300, 842, 1067, 803, 1298, 1212, 1675, 1212, 1212, 1075, 1303, 690, 1303, 1716, 0,
    0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
    0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
    651, 821, 1303, 1303, 1303, 1303, 690, 1024, 1024, 2048, 965, 1253, 1716, 739, 2048, 1024,
    1024, 1716, 821, 821, 1024, 1303, 1303, 651, 1024, 821, 965, 1253, 1985, 1985, 1985, 1087,
    1401, 1401, 1401, 1401, 1401, 1401, 1995, 1430, 1294, 1294, 1294, 1294, 604, 604, 604, 604,
    1587, 1532, 1612, 1612, 1612, 1612, 1612, 1716, 1612, 1499, 1499, 1499, 1499, 1251, 1239, 1290,
    1255, 1255, 1255, 1255, 1255, 1255, 2011, 1126, 1260, 1260, 1260, 1260, 569, 569, 569, 569,
    1253, 1298, 1253, 1253, 1253, 1253, 1253, 1716, 1253, 1298, 1298, 1298, 1298, 1212, 1300, 1212,
    1401, 1255, 1401, 1255, 1401, 1255, 1430, 1126, 1430, 1126, 1430, 1126, 1430, 1126, 1577, 1300,
    1587, 1300, 1294, 1260, 1294, 1260, 1294, 1260, 1294, 1260, 1294, 1260, 1587, 1300, 1587, 1300,
    1587, 1300, 1587, 1300, 1540, 1298, 1876, 1423, 604, 569, 604, 569, 604, 569, 604, 569,
    604, 569, 1208, 1138, 604, 569, 1343, 1186, 1186, 1141, 569, 1141, 569, 1141, 768, 1141,
    700, 1151, 582, 1532, 1298, 1532, 1298, 1532, 1298, 1666, 1532, 1298, 1612, 1253, 1612, 1253,
    1612, 1253, 2191, 2095, 1423, 842, 1423, 842, 1423, 842, 1300, 1067, 1300, 1067, 1300, 1067,
    1300, 1067, 1251, 803, 1251, 803, 1251, 803, 1499, 1298, 1499, 1298, 1499, 1298, 1499, 1298,
    1499, 1298, 1499, 1298, 2025, 1675, 1251, 1212, 1251, 1403, 1075, 1403, 1075, 1403, 1075, 721,
];
#[rustfmt::skip]
const BOLD: [u16; 352] = [
    713, 934, 1067, 1716, 1425, 2052, 1786, 627, 936, 936, 1071, 1716, 778, 850, 778, 748,
    1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 819, 819, 1716, 1716, 1716, 1188,
    2048, 1585, 1561, 1503, 1700, 1399, 1399, 1681, 1714, 762, 762, 1587, 1305, 2038, 1714, 1741,
    1501, 1741, 1577, 1475, 1397, 1663, 1585, 2259, 1579, 1483, 1485, 936, 748, 936, 1716, 1024,
    1024, 1382, 1466, 1214, 1466, 1389, 891, 1466, 1458, 702, 702, 1362, 702, 2134, 1458, 1407,
    1466, 1466, 1010, 1219, 979, 1458, 1335, 1892, 1321, 1335, 1192, 1458, 748, 1458, 1716, 0,
    0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
    0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
    713, 934, 1425, 1425, 1303, 1425, 748, 1024, 1024, 2048, 1155, 1323, 1716, 850, 2048, 1024,
    1024, 1716, 897, 897, 1024, 1507, 1303, 778, 1024, 897, 1155, 1323, 2120, 2120, 2120, 1188,
    1585, 1585, 1585, 1585, 1585, 1585, 2222, 1503, 1399, 1399, 1399, 1399, 762, 762, 762, 762,
    1716, 1714, 1741, 1741, 1741, 1741, 1741, 1716, 1741, 1663, 1663, 1663, 1663, 1483, 1511, 1473,
    1382, 1382, 1382, 1382, 1382, 1382, 2146, 1214, 1389, 1389, 1389, 1389, 702, 702, 702, 702,
    1407, 1458, 1407, 1407, 1407, 1407, 1407, 1716, 1407, 1458, 1458, 1458, 1458, 1335, 1466, 1335,
    1585, 1382, 1585, 1382, 1585, 1382, 1503, 1214, 1503, 1214, 1503, 1214, 1503, 1214, 1700, 1466,
    1716, 1466, 1399, 1389, 1399, 1389, 1399, 1389, 1399, 1389, 1399, 1389, 1681, 1466, 1681, 1466,
    1681, 1466, 1681, 1466, 1714, 1458, 1994, 1618, 762, 702, 762, 702, 762, 702, 762, 702,
    762, 702, 1524, 1404, 762, 702, 1587, 1362, 1362, 1305, 702, 1305, 702, 1305, 982, 1305,
    1140, 1315, 760, 1714, 1458, 1714, 1458, 1714, 1458, 2013, 1714, 1458, 1741, 1407, 1741, 1407,
    1741, 1407, 2390, 2241, 1577, 1010, 1577, 1010, 1577, 1010, 1475, 1219, 1475, 1219, 1475, 1219,
    1475, 1219, 1397, 979, 1397, 979, 1397, 979, 1663, 1458, 1663, 1458, 1663, 1458, 1663, 1458,
    1663, 1458, 1663, 1458, 2259, 1892, 1483, 1335, 1483, 1485, 1192, 1485, 1192, 1485, 1192, 891,
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_are_those_of_the_font() {
        for (data, is_bold) in [(dejavu::sans::regular(), false), (dejavu::sans::bold(), true)] {
            let face = ttf_parser::Face::parse(data, 0).expect("the font");
            let em = f64::from(face.units_per_em());
            for c in (0x20..0x180)
                .filter_map(char::from_u32)
                .chain("Ω→▷−≤≥Δ–‘’電".chars())
                .filter(|c| !c.is_control())
            {
                let own = face.glyph_index(c).and_then(|glyph| face.glyph_hor_advance(glyph)).unwrap_or(0);
                let (own, ours) = (f64::from(own) / em, width(&c.to_string(), 1.0, is_bold));
                let is_listed = (c as u32) < 0x180;
                assert!(if is_listed { (own - ours).abs() < 1e-9 } else { ours >= own }, "{c}: {own} {ours}");
            }
        }
    }

    #[test]
    fn broken_text_fits_its_place() {
        let long = "Supercalifragilistic x Diesel or gas air heater 2 kW heat, with a second word that_is_far_too_long_for_any_line";
        for text in [long, "", "   ", "one", "two words", "wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww"] {
            for lines in 1..5 {
                for most in [12.0, 20.0, 38.0] {
                    let broken = wrap(text, MAIN, true, most, lines);
                    assert!(broken.len() <= lines, "{broken:?}");
                    assert!(broken.iter().all(|line| width(line, MAIN, true) <= most), "{most}: {broken:?}");
                }
            }
        }
        assert_eq!(wrap("a few words", SMALL, false, 100.0, 2), ["a few words"]);
    }

    #[test]
    fn whole_text_loses_nothing() {
        let long = "Supercalifragilistic x ac.feed.residual.in-neutral and one-very-long-name-of-a-thing-with-hyphens end";
        for text in [long, "", "   ", "one", "two words", "wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww"] {
            for most in [4.0, 12.0, 20.0, 38.0] {
                let lines = whole(text, SMALL, false, most);
                assert!(lines.iter().all(|line| width(line, SMALL, false) <= most), "{most}: {lines:?}");
                let letters = |text: &str| text.split_whitespace().collect::<String>();
                assert_eq!(letters(&lines.join(" ")), letters(text), "{most}");
            }
        }
    }
}
