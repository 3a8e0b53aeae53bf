//! A plan for tests.

use springhouse_study::many::{Axis, Column, ColumnKind, Design, Limit, Plan, Short, Variant};

/// Six variants of a quantity and a text, with an uncertain number and an uncertain text.
pub(super) fn plan() -> Plan {
    let column = |key: &str, kind| Column { key: key.to_owned(), kind };
    let axis = |name: &str, first_key: usize| Axis { name: name.to_owned(), first_key, keys: 1 };
    let volumes = [("5 m3", 5_000.0), ("800 gal", 3_028.329_427_2), ("1,000 gal", 3_785.411_784)];
    let variants = volumes.into_iter().flat_map(|(volume, litres)| {
        ["one, or two", "\u{2265} 3"].map(|word| Variant {
            settings: vec![volume.to_owned(), word.to_owned()],
            amounts: vec![Some(litres), None],
            price: None,
        })
    });
    Plan {
        name: "kept".to_owned(),
        title: String::new(),
        scenario: "plant".to_owned(),
        metric: false,
        first_day: "2027-06-07".to_owned(),
        days: 2,
        seed: 1,
        design: Design::Sweep,
        runs: 9,
        keys: vec![
            column("storage.volume", ColumnKind::Quantity("l".to_owned())),
            column("people.habits", ColumnKind::Text),
        ],
        axes: vec![axis("volume", 0), axis("habits", 1)],
        variants: variants.collect(),
        reference: 0,
        uncertain: vec![
            column("well.yield", ColumnKind::Quantity("lps".to_owned())),
            column("membrane.share", ColumnKind::Number),
            column("people.guests", ColumnKind::Text),
        ],
        figures: ["water.run_outs", "water.lowest_storage_l", "energy.total_kwh"].map(str::to_owned).to_vec(),
        short: Short { figure: "water.run_outs".to_owned(), limit: Limit::AtMost(0.0) },
        confidence: 0.95,
        stop: None,
        target: None,
    }
}
