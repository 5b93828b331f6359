//! Small weather files of invented values in each format, as lists of lines that a test may spoil.
//! Never: measured data.
//! Start at [`Place`].

use std::f64::consts::TAU;

/// A place of a made file.
#[derive(Clone, Copy)]
pub struct Place {
    pub latitude: f64,
    pub longitude: f64,
    pub zone: f64,
}

/// A lake shore in the Alps.
pub const NORTH: Place = Place { latitude: 46.0, longitude: 9.0, zone: 1.0 };

/// One hour of invented weather, rounded as the files print it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hour {
    pub ghi: f64,
    pub dni: f64,
    pub dhi: f64,
    pub air: f64,
    pub wind: f64,
}

pub const DAYS: [usize; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// Month, day and hour, from 1, 1 and 0, of an hour of the year.
pub fn calendar(hour: usize) -> (usize, usize, usize) {
    let mut day = hour / 24;
    for (month, days) in DAYS.iter().enumerate() {
        if day < *days {
            return (month + 1, day + 1, hour % 24);
        }
        day -= days;
    }
    panic!("no hour {hour}");
}

impl Place {
    /// Cosine of the zenith at a moment of the clock: Cooper's declination, no equation of time.
    fn cos(self, hour: f64) -> f64 {
        let day = (hour / 24.0).floor() + 1.0;
        let declination = 23.45_f64.to_radians() * (TAU * (284.0 + day) / 365.0).sin();
        let angle = (hour.rem_euclid(24.0) - 12.0 - self.zone + self.longitude / 15.0) * TAU / 24.0;
        let latitude = self.latitude.to_radians();
        latitude.sin() * declination.sin() + latitude.cos() * declination.cos() * angle.cos()
    }

    /// The weather of the moment `minutes` after the beginning of an hour of the place's clock.
    pub fn weather(self, hour: usize, minutes: f64) -> Hour {
        let cos = self.cos(hour as f64 + minutes / 60.0).max(0.0);
        let is_cloudy = (hour / 24).is_multiple_of(3);
        let dni = if is_cloudy || cos < 0.01 { 0.0 } else { (800.0 * cos.sqrt()).round() };
        let dhi = (if is_cloudy { 300.0 } else { 110.0 } * cos).round();
        let ghi = (dni * cos + dhi).round();
        let air =
            ((9.0 + 12.0 * (TAU * (hour as f64 - 2900.0) / 8760.0).sin() + 4.0 * cos) * 10.0).round() / 10.0;
        Hour { ghi, dni, dhi, air, wind: ((hour % 11) as f64) / 2.0 }
    }

    /// EPW: 8 header lines, then 8760 of hours.
    pub fn epw(self) -> Vec<String> {
        let mut lines = vec![
            format!(
                "LOCATION,Lakeside,North,Nowhere,invented,000000,{},{},{},300.0",
                self.latitude, self.longitude, self.zone
            ),
            "DESIGN CONDITIONS,0".into(),
            "TYPICAL/EXTREME PERIODS,0".into(),
            "GROUND TEMPERATURES,0".into(),
            "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0".into(),
            "COMMENTS 1,invented".into(),
            "COMMENTS 2,".into(),
            "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31".into(),
        ];
        lines.extend(
            (0..8760).map(|hour| self.epw_line(1999 + (hour as i32 / 3000), hour, self.weather(hour, 30.0))),
        );
        lines
    }

    pub fn epw_line(self, year: i32, hour: usize, weather: Hour) -> String {
        let (month, day, clock) = calendar(hour);
        let Hour { ghi, dni, dhi, air, wind } = weather;
        format!(
            "{year},{month},{day},{},60,?9?9?9,{air},1.0,80,99000,0,0,300,{ghi},{dni},{dhi},999999,999999,999999,9999,180,\
             {wind},99,99,9999,99999,9,999999999,999,0.999,999,99,999,999,99",
            clock + 1
        )
    }

    /// TMY3: 2 header lines, then 8760 of hours; fewer columns than published, in another order.
    pub fn tmy3(self) -> Vec<String> {
        let mut lines = vec![
            format!("999999,\"LAKESIDE, UPPER\",NW,{:.1},{:.3},{:.3},300", self.zone, self.latitude, self.longitude),
            "Date (MM/DD/YYYY),Time (HH:MM),Wspd (m/s),GHI (W/m^2),GHI source,DNI (W/m^2),DHI (W/m^2),Dry-bulb (C)".into(),
        ];
        lines.extend((0..8760).map(|hour| {
            let (month, day, clock) = calendar(hour);
            let Hour { ghi, dni, dhi, air, wind } = self.weather(hour, 30.0);
            format!("{month:02}/{day:02}/1988,{:02}:00,{wind},{ghi},1,{dni},{dhi},{air}", clock + 1)
        }));
        lines
    }

    /// TMY2: the station, then 8760 hours in fixed columns; wind and air in tenths.
    pub fn tmy2(self) -> Vec<String> {
        let degrees = |value: f64, letters: [char; 2]| {
            let (whole, minutes) = (value.abs().floor(), (value.abs().fract() * 60.0).round());
            format!("{} {whole:3} {minutes:02}", letters[usize::from(value < 0.0)])
        };
        let (north, east) = (degrees(self.latitude, ['N', 'S']), degrees(self.longitude, ['E', 'W']));
        let mut lines =
            vec![format!(" 99999 UPPER LAKESIDE          NW {:3} {north} {east}   300", self.zone)];
        lines.extend((0..8760).map(|hour| {
            let (month, day, clock) = calendar(hour);
            let Hour { ghi, dni, dhi, air, wind } = self.weather(hour, 30.0);
            let (air, wind) = ((air * 10.0).round(), (wind * 10.0).round());
            format!(
                " 88{month:02}{day:02}{:02}00000000{ghi:04}A5{dni:04}A5{dhi:04}A5{z}{z}{z}{z}05A705A7{air:04}A70010A7080A70990A7\
                 180A7{wind:03}A70161A777777A70999999999013F8062F8000A788E7",
                clock + 1,
                z = "0000?0"
            )
        }));
        lines
    }

    /// PVGIS typical year in UTC: 17 header lines, 8760 of hours, the legend. `self.zone` is the zone to be found.
    pub fn pvgis_typical(self) -> Vec<String> {
        let mut lines = vec![
            format!("Latitude (decimal degrees): {:.3}", self.latitude),
            format!("Longitude (decimal degrees): {:.3}", self.longitude),
            "Elevation (m): 300.0".into(),
            "Irradiance Time Offset (h): 0.1761".into(),
            "month,year".into(),
        ];
        lines.extend((1..=12).map(|month| format!("{month},{}", 2004 + month)));
        lines.push("time(UTC),T2m,RH,G(h),Gb(n),Gd(h),IR(h),WS10m,WD10m,SP".into());
        lines.extend((0..8760).map(|utc| {
            let (month, day, clock) = calendar(utc);
            let local = (utc as i64 + self.zone as i64).rem_euclid(8760) as usize;
            let Hour { ghi, dni, dhi, air, wind } = self.weather(local, 10.566);
            format!(
                "{}{month:02}{day:02}:{clock:02}00,{air},80.0,{ghi},{dni},{dhi},300.0,{wind},180.0,99000.0",
                2004 + month
            )
        }));
        lines.extend([
            "".into(),
            "T2m: 2-m air temperature (degree Celsius)".into(),
            "".into(),
            "PVGIS (c) European Union".into(),
        ]);
        lines
    }

    /// PVGIS hourly series of whole years in UTC with stamps at 10 past: 10 header lines, the hours, the legend.
    pub fn pvgis_hourly(self, years: std::ops::RangeInclusive<i32>, slope: i32) -> Vec<String> {
        let mut lines = vec![
            format!("Latitude (decimal degrees):\t{:.3}", self.latitude),
            format!("Longitude (decimal degrees):\t{:.3}", self.longitude),
            "Elevation (m):\t300".into(),
            "Radiation database:\tPVGIS-SARAH".into(),
            "".into(),
            "".into(),
            format!("Slope: {slope} deg. "),
            "Azimuth: 0 deg. ".into(),
            "time,Gb(i),Gd(i),Gr(i),H_sun,T2m,WS10m,Int".into(),
        ];
        for year in years {
            for utc in 0..8760 {
                let (month, day, clock) = calendar(utc);
                let mut push = |month: usize, day: usize| {
                    let local = (utc as i64 + self.zone as i64).rem_euclid(8760) as usize;
                    let Hour { ghi, dhi, air, wind, .. } = self.weather(local, 10.0);
                    let air = air + f64::from(year - 2015);
                    lines.push(format!(
                        "{year}{month:02}{day:02}:{clock:02}10,{:.1},{dhi:.1},0.0,0.0,{air:.2},{wind},0.0",
                        ghi - dhi
                    ));
                };
                push(month, day);
            }
            if year % 4 == 0 {
                let at = lines.len() - (8760 - 59 * 24);
                let extra: Vec<String> =
                    lines[at - 24..at].iter().map(|line| line.replacen("0228:", "0229:", 1)).collect();
                lines.splice(at..at, extra);
            }
        }
        lines.extend([
            "".into(),
            "H_sun: Sun height (degree)".into(),
            "".into(),
            "PVGIS (c) European Union".into(),
        ]);
        lines
    }
}

/// The lines as a file.
pub fn bytes(lines: &[String]) -> Vec<u8> {
    let mut text = lines.join("\n");
    text.push('\n');
    text.into_bytes()
}
