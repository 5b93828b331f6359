// What each energy chart draws, from what the service tells. Never: draws, asks.
import type { Plan } from "../parts/Chart.svelte";
import type { Energy, SizesOutcome, Week, YearsOutcome } from "../wire/api.d.ts";

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const MONTH_STARTS = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334];

/** Day of the year, from 0, as month and day. */
export function dayText(day: number): string {
    const month = MONTH_STARTS.findLastIndex((start) => start <= day);
    return `${MONTHS[month] ?? ""} ${Math.floor(day - (MONTH_STARTS[month] ?? 0)) + 1}`;
}

const days = Array.from({ length: 365 }, (_, day) => day);
const percent = (shares: readonly number[]) => shares.map((share) => share * 100);
export const shareText = (share: number) => `${(share * 100).toFixed(share > 0 && share < 0.1 ? 1 : 0)} %`;

/** Charge of the bank over the year, with the band of many years. */
export function chargePlan(energy: Energy, years: YearsOutcome): Plan {
    return {
        title: "Charge of the bank over the year",
        words: `Lowest of each day in a typical year, and the bands in which 9 of 10 and 5 of 10 of ${years.count} drawn years lie. Below ${shareText(energy.floor)} only vital loads are served.`,
        x: days,
        xText: (day) => dayText(day).slice(0, 3),
        xMarks: MONTH_STARTS,
        unit: "charge, %",
        range: [0, 100],
        series: [
            { title: "95 of 100 years below", colour: "accent", kind: "edge" },
            { title: "5 of 100 below", colour: "accent", kind: "edge" },
            { title: "75 below", colour: "accent", kind: "edge" },
            { title: "25 below", colour: "accent", kind: "edge" },
            { title: "middle of the years", colour: "accent", kind: "line", dash: [6, 4], width: 1.5 },
            { title: "typical year", colour: "ink", kind: "line", width: 2 },
            { title: "kept for vital loads", colour: "danger", kind: "line", dash: [2, 4], width: 1.5 },
        ],
        values: [
            percent(years.band95),
            percent(years.band5),
            percent(years.band75),
            percent(years.band25),
            percent(years.band50),
            percent(energy.dayLow),
            days.map(() => energy.floor * 100),
        ],
        bands: [
            { from: 0, to: 1, strength: 0.16 },
            { from: 2, to: 3, strength: 0.28 },
        ],
        height: 300,
    };
}

/** Sources stacked by month, with the need. The tallest stack is drawn first, so that the ones before it stay in sight. */
export function monthsPlan(energy: Energy): Plan {
    const of = (pick: (month: Energy["months"][number]) => number) => energy.months.map(pick);
    const sun = of((month) => month.sunKwh);
    const engine = of((month) => month.engineKwh);
    const shore = of((month) => month.shoreKwh);
    const generator = of((month) => month.generatorKwh);
    const sum = (...lists: number[][]) =>
        sun.map((_, at) => lists.reduce((total, list) => total + (list[at] ?? 0), 0));
    return {
        title: "Energy by month",
        words: "What came in, stacked, against what was needed, in a typical year.",
        x: MONTHS.map((_, at) => at),
        xText: (at) => MONTHS[at] ?? "",
        xMarks: MONTHS.map((_, at) => at),
        unit: "kWh",
        series: [
            { title: "generator", colour: "series-generator", kind: "bar" },
            { title: "shore", colour: "series-shore", kind: "bar" },
            { title: "engine", colour: "series-engine", kind: "bar" },
            { title: "sun", colour: "series-sun", kind: "bar" },
            { title: "need and losses", colour: "series-need", kind: "line", width: 2.5 },
            { title: "not served", colour: "series-short", kind: "line", dash: [3, 3], width: 2.5 },
        ],
        values: [
            sum(sun, engine, shore, generator),
            sum(sun, engine, shore),
            sum(sun, engine),
            sun,
            of((month) => month.loadsKwh + month.lostKwh),
            of((month) => month.shortKwh),
        ],
    };
}

export function monthsTable(energy: Energy): { heads: string[]; rows: string[][] } {
    const kwh = (value: number) => value.toFixed(1);
    return {
        heads: [
            "Month",
            "Sun, kWh",
            "Engine",
            "Shore",
            "Generator",
            "Loads",
            "Lost",
            "Sun unused",
            "Not served",
            "Lowest charge",
            "Runs out",
        ],
        rows: energy.months.map((month) => [
            month.month,
            kwh(month.sunKwh),
            kwh(month.engineKwh),
            kwh(month.shoreKwh),
            kwh(month.generatorKwh),
            kwh(month.loadsKwh),
            kwh(month.lostKwh),
            kwh(month.unusedSunKwh),
            kwh(month.shortKwh),
            shareText(month.lowest),
            shareText(month.runsOut),
        ]),
    };
}

/** The hardest week, hour by hour. */
export function weekPlan(week: Week): Plan {
    const hours = week.charge.map((_, hour) => hour);
    return {
        title: "The hardest week",
        words: `Hour by hour from ${week.from}: the week in which the bank comes closest to empty.`,
        x: hours,
        xText: (hour) => dayText((week.firstHour + hour) / 24),
        xMarks: [0, 1, 2, 3, 4, 5, 6].map((day) => day * 24),
        unit: "W",
        unitRight: "charge, %",
        rangeRight: [0, 100],
        series: [
            { title: "sun", colour: "series-sun", kind: "line" },
            { title: "sun unused", colour: "series-sun", kind: "line", dash: [2, 3], width: 1.5 },
            { title: "engine", colour: "series-engine", kind: "line", dash: [8, 3] },
            { title: "shore, generator", colour: "series-shore", kind: "line", dash: [4, 4] },
            { title: "need", colour: "series-need", kind: "line", width: 1.5 },
            { title: "not served", colour: "series-short", kind: "line", width: 2.5 },
            { title: "charge", colour: "accent", kind: "line", width: 3, onRight: true },
        ],
        values: [
            week.sunW,
            week.unusedSunW,
            week.engineW,
            week.supplyW,
            week.needW,
            week.shortW,
            percent(week.charge),
        ],
    };
}

/** The designs that no other beats: price against the share of years that run out, and against mass. */
export function sizesPlan(found: SizesOutcome, onpick: (at: number) => void): Plan {
    const designs = [...found.designs].sort((a, b) => a.price - b.price);
    const only = (test: (at: number) => boolean) =>
        designs.map((design, at) => (test(at) ? design.runsOut[0] * 100 : null));
    return {
        title: "Cost against running out",
        words: "Each point is a design that no other beats in cost, mass and chance of running out.",
        x: designs.map((design) => design.price),
        xText: (price) => price.toFixed(0),
        unit: "years that run out, %",
        range: [-3, 103],
        series: [
            { title: "designs", colour: "ink", kind: "line", isPoints: true },
            { title: "as it stands", colour: "danger", kind: "line", isPoints: true },
            { title: "the search would take", colour: "accent", kind: "line", isPoints: true },
        ],
        values: [
            only((at) => !designs[at]?.isCurrent && !designs[at]?.isChosen),
            only((at) => designs[at]?.isCurrent ?? false),
            only((at) => designs[at]?.isChosen ?? false),
        ],
        onpick,
    };
}
