//! A study of many runs as text, CSV and pictures, from made-up plans and rows.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use springhouse_report::study::{Told, text, variants};
use springhouse_report::{plots, write};
use springhouse_study::many::{
    Axis, Column, ColumnKind, Design, Gathering, Limit, Plan, Row, Short, Stop, Target, Values, Variant, VariantTold,
};

use crate::layout::assert_laid_out;

/// A plan, and what came of its variants.
struct Case {
    name: &'static str,
    plan: Plan,
    variants: Vec<VariantTold>,
}

impl Case {
    /// The rows of `figures` put through the gathering, the reference first.
    fn of(name: &'static str, plan: Plan, figures: impl Fn(usize, u64) -> Result<Vec<Option<f64>>, String>) -> Self {
        let gathered = |variant: usize, reference: Option<&Values>| {
            let mut gathering = Gathering::new(&plan);
            for run in 0..plan.runs {
                let job = plan.job(plan.runs * u64::try_from(variant).unwrap() + run);
                let (figures, fault) = match figures(variant, run) {
                    Ok(figures) => (figures, None),
                    Err(fault) => (vec![None; plan.figures.len()], Some(fault)),
                };
                if gathering.take(&Row { job, uncertain: Vec::new(), fault, figures }) {
                    break;
                }
            }
            gathering.told(reference)
        };
        let (_, reference) = gathered(plan.reference, None);
        let told = |variant: usize| gathered(variant, Some(&reference).filter(|_| variant != plan.reference)).0;
        let variants = (0..plan.variants.len()).map(told).collect();
        Self { name, plan, variants }
    }

    fn told(&self) -> Told<'_> {
        Told { plan: &self.plan, variants: &self.variants }
    }

    fn csv(&self) -> String {
        let mut bytes = Vec::new();
        variants::csv(&self.told(), &mut bytes).unwrap();
        String::from_utf8(bytes).unwrap()
    }
}

/// How full of wishes a morning is, from 0 to 1, mostly little: the same for all variants.
fn morning(run: u64) -> f64 {
    let mixed = run.wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(29).wrapping_mul(0xbf58_476d_1ce4_e5b9) >> 40;
    let even = f64::from(u32::try_from(mixed).unwrap()) / f64::from(1_u32 << 24);
    even * even * even
}

fn column(key: &str, kind: ColumnKind) -> Column {
    Column { key: key.to_owned(), kind }
}

fn litres() -> ColumnKind {
    ColumnKind::Quantity("l".to_owned())
}

fn variant(settings: &[(&str, Option<f64>)], price: Option<f64>) -> Variant {
    let (settings, amounts) = settings.iter().map(|(setting, amount)| ((*setting).to_owned(), *amount)).unzip();
    Variant { settings, amounts, price }
}

fn axis(name: &str, first_key: usize) -> Axis {
    Axis { name: name.to_owned(), first_key, keys: 1 }
}

/// A sweep without keys, for cases to change.
fn plan(title: &str, figures: &[&str]) -> Plan {
    Plan {
        name: "made-up".to_owned(),
        title: title.to_owned(),
        scenario: "A house on a slow well".to_owned(),
        metric: false,
        first_day: "2027-06-12".to_owned(),
        days: 2,
        seed: 3,
        design: Design::Sweep,
        runs: 500,
        keys: Vec::new(),
        axes: Vec::new(),
        variants: Vec::new(),
        reference: 0,
        uncertain: Vec::new(),
        figures: figures.iter().map(|figure| (*figure).to_owned()).collect(),
        short: Short { figure: figures[0].to_owned(), limit: Limit::AtMost(0.0) },
        confidence: 0.95,
        stop: None,
        target: None,
    }
}

const GALLON_L: f64 = 3.785_411_784;
const WATER: [&str; 3] = ["water.run_out_minutes", "water.lowest_storage_l", "energy.total_kwh"];

/// Minutes without water, water left, and energy, of so much storage on a morning.
fn water(volume_l: f64, run: u64) -> Vec<Option<f64>> {
    let left_l = volume_l - 700.0 - 4_500.0 * morning(run);
    vec![
        Some((-left_l / 12.0).max(0.0)),
        Some(left_l.max(0.0)),
        Some(3.0 + 2.0 * morning(run) + 1e-4 * volume_l * (1.0 + 0.1 * morning(run + 9_999))),
    ]
}

const VOLUMES: [(&str, f64); 6] = [
    ("800 gal", 800.0),
    ("1000 gal", 1_000.0),
    ("1200 gal", 1_200.0),
    ("1300 gal", 1_300.0),
    ("1400 gal", 1_400.0),
    ("1800 gal", 1_800.0),
];

/// Storage along one axis, with prices and a wanted chance.
fn storage() -> Case {
    let mut plan = plan("How much storage is enough for guests", &WATER);
    plan.keys = vec![column("storage.volume", litres())];
    plan.axes = vec![axis("storage volume", 0)];
    plan.variants =
        VOLUMES.map(|(name, gal)| variant(&[(name, Some(gal * GALLON_L))], Some(600.0 + 1.5 * gal))).to_vec();
    plan.target = Some(Target::Chance(0.05));
    Case::of("storage", plan, |variant, run| Ok(water(VOLUMES[variant].1 * GALLON_L, run)))
}

/// Two axes on a full grid in metric units, a rule that stops, one variant without results and one with a few faults.
fn grid() -> Case {
    let mut plan = plan("Storage and the hours of the membrane unit", &WATER);
    let volumes = [("3 m3", 3_000.0), ("3500 L", 3_500.0), ("4 m3", 4_000.0), ("5 m3", 5_000.0), ("6 m3", 6_000.0)];
    let hours = [("4 h", 14_400.0), ("8 h", 28_800.0), ("12 h", 43_200.0)];
    plan.metric = true;
    plan.keys = vec![
        column("storage.volume", litres()),
        column("membrane.hours_per_day", ColumnKind::Quantity("s".to_owned())),
    ];
    plan.axes = vec![axis("storage volume", 0), axis("hours a day", 1)];
    plan.variants = volumes
        .iter()
        .flat_map(|(volume, litres)| {
            hours.iter().map(move |(hours, s)| variant(&[(volume, Some(*litres)), (hours, Some(*s))], None))
        })
        .collect();
    plan.stop = Some(Stop { half_width: Some(0.03), chance: Some(0.05), least_runs: 50, look_every: 10 });
    plan.target = Some(Target::Chance(0.05));
    plan.reference = 4;
    Case::of("grid", plan, move |variant, run| {
        if variant == 2 {
            return Err("membrane.hours_per_day: 12 h is more than the 10 h that its timer has".to_owned());
        }
        if variant == 7 && run % 50 == 3 {
            return Err("the run was stopped after 60 s".to_owned());
        }
        let (_, volume_l) = volumes[variant / 3];
        let (_, made_s) = hours[variant % 3];
        Ok(water(volume_l + 0.02 * made_s, run))
    })
}

/// Words along an axis, and a wanted mean.
fn heaters() -> Case {
    let figures = ["hot_water[main heater].lukewarm_minutes", "energy.cost", "hot_water[main heater].lowest_outlet_c"];
    let mut plan = plan("", &figures);
    let kinds = ["electric", "hybrid, as it comes", "gas burner with a flue", "heat pump only"];
    plan.keys = vec![column("hot_water[main heater].kind", ColumnKind::Text)];
    plan.axes = vec![axis("kind of the main heater", 0)];
    plan.variants = kinds.iter().map(|kind| variant(&[(kind, None)], None)).collect();
    plan.short.limit = Limit::AtMost(10.0);
    plan.target = Some(Target::Mean { figure: "energy.cost".to_owned(), limit: Limit::AtMost(2.5) });
    plan.runs = 40;
    Case::of("heaters", plan, |variant, run| {
        let index = f64::from(u32::try_from(variant).unwrap());
        let cold = (30.0 * index * morning(run + 77)).min(45.0);
        Ok(vec![
            Some(if variant == 2 { 0.0 } else { 2.0 * cold }),
            Some(4.0 - index + 0.8 * morning(run)),
            (run != 5).then_some(52.0 - cold / 3.0),
        ])
    })
}

/// A hundred variants of two keys that change together, two lines of them.
fn many() -> Case {
    let mut plan = plan("A hundred tanks", &WATER);
    plan.keys = vec![
        column("storage.volume", litres()),
        column("storage.low_float", litres()),
        column("people.count", ColumnKind::Number),
    ];
    plan.axes = vec![Axis { name: "tank".to_owned(), first_key: 0, keys: 2 }, axis("people", 2)];
    plan.variants = (0..100_u32)
        .map(|i| {
            let litres = 2_000.0 + 80.0 * f64::from(i / 2);
            let settings = [format!("{litres} L"), format!("{} L", litres / 4.0), (2 + i % 2).to_string()];
            let amounts = vec![Some(litres), Some(litres / 4.0), Some(f64::from(2 + i % 2))];
            Variant { settings: settings.to_vec(), amounts, price: None }
        })
        .collect();
    plan.runs = 60;
    Case::of("many", plan, |variant, run| {
        let i = u32::try_from(variant).unwrap();
        Ok(water(2_000.0 + 80.0 * f64::from(i / 2) - 300.0 * f64::from(i % 2), run))
    })
}

/// A grid with too many fields for numbers in them, long names, and a wanted mean.
fn wide() -> Case {
    let mut plan = plan("Every tank with every habit", &["water.lowest_storage_l", "water.run_outs"]);
    let habits = ["as in the scenario", "up early, and long showers", "guests", "guests who wash", "away", "a"];
    plan.keys = vec![column("storage.volume", litres()), column("people.habits", ColumnKind::Text)];
    plan.axes = vec![axis("volume of the tank", 0), axis("what people are in the habit of", 1)];
    plan.variants = (0..84_u32)
        .map(|i| {
            let litres = 2_000.0 + 250.0 * f64::from(i / 6);
            variant(&[(&format!("{litres} L"), Some(litres)), (habits[usize::try_from(i % 6).unwrap()], None)], None)
        })
        .collect();
    plan.short = Short { figure: "water.lowest_storage_l".to_owned(), limit: Limit::AtLeast(400.0) };
    plan.target = Some(Target::Mean { figure: "water.lowest_storage_l".to_owned(), limit: Limit::AtLeast(1_800.0) });
    plan.runs = 40;
    Case::of("wide", plan, |variant, run| {
        let i = u32::try_from(variant).unwrap();
        let left_l =
            (1_800.0 + 250.0 * f64::from(i / 6) - (1.0 + 0.3 * f64::from(i % 6)) * 2_000.0 * morning(run)).max(0.0);
        Ok(vec![Some(left_l), Some(if left_l > 0.0 { 0.0 } else { 1.0 })])
    })
}

fn alone() -> Case {
    let mut plan = plan("As it is", &WATER);
    plan.variants = vec![variant(&[], None)];
    Case::of("alone", plan, |_, run| Ok(water(4_000.0, run)))
}

/// A difference that is the same on all mornings, and nothing that falls short.
fn alike() -> Case {
    let mut plan = plan("A pump that takes more", &["water.run_outs", "energy.total_kwh"]);
    plan.keys = vec![column("well.pump.share", ColumnKind::Number)];
    plan.axes = vec![axis("share", 0)];
    plan.variants = [("0.5", 0.5), ("0.25", 0.25)].map(|(name, share)| variant(&[(name, Some(share))], None)).to_vec();
    plan.runs = 30;
    Case::of("alike", plan, |variant, run| {
        let more = if variant == 0 { 0.0 } else { 0.5 };
        Ok(vec![Some(0.0), Some((1024.0 * morning(run)).round() + more)])
    })
}

fn nothing_but_faults() -> Case {
    let mut case = storage().plan;
    case.runs = 5;
    Case::of("faults", case, |_, _| Err("well.yield: 0 gpm fills no tank".to_owned()))
}

/// Points that are no variants.
fn shares() -> Case {
    let mut plan = plan("What matters", &WATER);
    plan.design = Design::Shares;
    plan.variants = ["a", "a, the well's yield from b", "b"].map(|point| variant(&[(point, None)], None)).to_vec();
    plan.uncertain = vec![column("well.yield", ColumnKind::Quantity("lps".to_owned()))];
    plan.runs = 64;
    Case::of("shares", plan, |variant, run| Ok(water(3_500.0, run + u64::try_from(variant).unwrap() * 1_000)))
}

fn cases() -> Vec<Case> {
    vec![storage(), grid(), heaters(), many(), wide(), alone(), alike(), nothing_but_faults(), shares()]
}

#[test]
fn pictures_have_their_words_in_place() {
    for case in cases() {
        for plot in plots::study(&case.told()) {
            assert_laid_out(case.name, &plot);
            if let Some(folder) = std::env::var_os("SPRINGHOUSE_PLOTS") {
                let file = format!("study-{}-{}.png", plot.name, case.name);
                fs::write(Path::new(&folder).join(file), plot.png().unwrap()).unwrap();
            }
        }
    }
}

#[test]
fn exact_pictures_are_where_they_say_something() {
    let names = |case: &Case| plots::study(&case.told()).iter().map(|plot| plot.name).collect::<Vec<_>>();
    assert_eq!(names(&storage()), ["trade-off", "tornado", "distribution"]);
    assert_eq!(names(&grid()), ["trade-off", "heat-map", "tornado", "distribution"]);
    assert_eq!(names(&heaters()), ["trade-off", "tornado", "distribution"]);
    assert_eq!(names(&many()), ["trade-off", "tornado", "distribution"]);
    assert_eq!(names(&wide()), ["trade-off", "heat-map", "tornado", "distribution"]);
    assert_eq!(names(&alone()), ["distribution"]);
    assert_eq!(names(&alike()), ["trade-off", "tornado", "distribution"]);
    assert!(names(&nothing_but_faults()).is_empty());
    assert!(names(&shares()).is_empty());
}

#[test]
fn regress_titles_say_the_answer() {
    let mut titles = String::new();
    for case in cases() {
        for plot in plots::study(&case.told()) {
            writeln!(titles, "{} {}: {}", case.name, plot.name, plot.title()).unwrap();
        }
    }
    insta::assert_snapshot!(titles);
}

#[test]
fn regress_texts_of_studies() {
    for case in cases() {
        let told = case.told();
        let all = [text::subject(&told), text::headline(&told), text::body(&told), text::cautions(&told)].join("\n\n");
        assert!(all.lines().skip(4).all(|line| line.chars().count() <= 136), "{}: {all}", case.name);
        assert!(!all.contains("NaN") && !all.contains("inf "), "{}: {all}", case.name);
        insta::assert_snapshot!(format!("study_{}", case.name), all);
    }
}

#[test]
fn exact_headlines_are_as_sure_as_their_intervals() {
    let said = |target: Option<Target>| {
        let mut case = storage();
        case.plan.target = target;
        text::headline(&case.told())
    };
    // The last two never fell short in 500 runs, which leaves a chance of up to 0.7 %.
    let never = "0 of 500 runs fall short, 0 % (0 to 0.7 %)";
    let expected = format!(
        "2 of 6 variants have a chance of falling short of at most 1 %; the cheapest of them is 1400 gal: {never}."
    );
    assert_eq!(said(Some(Target::Chance(0.01))), expected);
    let unsure = said(Some(Target::Chance(0.005)));
    assert!(
        unsure.starts_with("No variant is sure to have a chance of falling short of at most 0.5 %. 2 may"),
        "{unsure}"
    );
    let energy = |most| Some(Target::Mean { figure: WATER[2].to_owned(), limit: Limit::AtMost(most) });
    let none = said(energy(3.0));
    assert!(none.starts_with("None of 6 variants was found to have a mean of electricity of the plant of at most 3 kWh. Nearest is 800 gal: mean"), "{none}");
    assert_eq!(said(None), format!("Least often short are 2 variants, among them 1400 gal: {never}."));
}

#[test]
fn regress_table_of_variants() {
    let cut = |text: String| text.lines().take(4).collect::<Vec<_>>().join("\n");
    insta::assert_snapshot!([cut(storage().csv()), cut(grid().csv()), cut(shares().csv())].join("\n\n"));
}

#[test]
fn exact_table_reads_back_to_the_bit() {
    for case in cases() {
        let table = case.csv();
        let mut reader = ::csv::Reader::from_reader(table.as_bytes());
        let heads = reader.headers().unwrap().clone();
        let place = |head: &str| heads.iter().position(|known| known == head);
        let mut lines = 0;
        for (index, record) in reader.records().enumerate() {
            let (record, told) = (record.unwrap(), &case.variants[index]);
            let number = |head: &str| {
                let cell = &record[place(head).unwrap()];
                (!cell.is_empty()).then(|| cell.parse::<f64>().unwrap().to_bits())
            };
            assert_eq!(number("short_high"), told.short.map(|short| short.bounds.high.to_bits()), "{}", case.name);
            for (figure, found) in case.plan.figures.iter().zip(&told.figures) {
                let of = |what: &str| number(&format!("{figure}.{what}"));
                let found = found.as_ref();
                let mean = found.and_then(|it| it.mean);
                assert_eq!(of("mean"), mean.map(|it| it.mean.to_bits()));
                assert_eq!(of("mean_low"), mean.map(|it| it.bounds.low.to_bits()));
                assert_eq!(of("median_high"), found.and_then(|it| it.median.high).map(f64::to_bits));
                assert_eq!(of("least"), found.map(|it| it.ladder[0].to_bits()));
                let against = found.and_then(|it| it.against);
                assert_eq!(of("difference"), against.map(|it| it.difference.mean.to_bits()));
            }
            lines += 1;
        }
        assert_eq!(lines, case.plan.variants.len(), "{}", case.name);
    }
}

#[test]
fn every_column_has_its_place_in_the_reference() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/outputs.md");
    let reference = fs::read_to_string(path).unwrap();
    let (_, told) = reference.split_once("\n# What studies write\n").expect("a chapter on studies");
    for case in [storage(), shares()] {
        let table = case.csv();
        for head in table.lines().next().unwrap().split(',') {
            if case.plan.keys.iter().any(|column| column.key == head || column.head() == head) {
                continue;
            }
            let figure = case.plan.figures.iter().find_map(|figure| head.strip_prefix(figure.as_str()));
            let word = figure.map_or(head.to_owned(), |rest| format!("FIGURE{rest}"));
            assert!(told.contains(&format!("`{word}`")), "docs/outputs.md has no row for {word} of studies");
        }
    }
    for word in ["runs.csv", "runs.parquet", "run", "fault", "trade-off", "heat-map", "tornado", "distribution"] {
        assert!(told.contains(&format!("`{word}")), "docs/outputs.md does not tell of {word} of studies");
    }
}

#[test]
fn files_are_written_together_and_old_pictures_go() {
    let folder = tempfile::tempdir().unwrap();
    let names = |case: &Case| {
        let files = write::study(&case.told(), folder.path()).unwrap();
        let names = files.iter().map(|file| file.file_name().unwrap().to_str().unwrap().to_owned());
        names.collect::<Vec<_>>().join(" ")
    };
    fs::write(folder.path().join("runs.csv"), "kept").unwrap();
    assert_eq!(
        names(&grid()),
        "variants.csv trade-off.svg trade-off.png heat-map.svg heat-map.png tornado.svg tornado.png \
         distribution.svg distribution.png"
    );
    assert_eq!(names(&nothing_but_faults()), "variants.csv");
    let mut left: Vec<_> =
        fs::read_dir(folder.path()).unwrap().map(|it| it.unwrap().file_name().into_string().unwrap()).collect();
    left.sort();
    assert_eq!(left, ["runs.csv", "variants.csv"]);
}
