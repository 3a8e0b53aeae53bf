//! What a membrane lets pass, and what calcite gives back to it, against full speciation.

use crate::scaling::ions;
use crate::table::Table;

/// Made by `t15_calcite.py`, library and data base on its first line.
const TABLE: &str = include_str!("../data/15_calcite.csv");

#[test]
fn external_product_and_hardened_water() {
    let mut rows = 0;
    for row in Table::read(TABLE).rows() {
        let name = row.text("feed");
        let feed = ions(TABLE, name);
        let near = |what: &str, found: f64, column: &str, off: f64| {
            let expected = row.number(column);
            assert!((found - expected).abs() <= off, "{name} {}: {what} {found} for {expected}", row.number("share"));
        };
        // Ours leaves out ion pairs and takes the ionic strength from the sum of solids: up to 2 % of the
        // dioxide, and what calcite it dissolves goes with that.
        let dioxide = 1e3 * feed.carbon_dioxide_mol_l();
        near("carbon dioxide", dioxide, "co2_mmol_kg", 0.02 * row.number("co2_mmol_kg"));
        let product = feed.product(row.number("share"));
        near("pH of the product", product.ph, "product_pH", 0.01);
        let found = product.hardened();
        near("calcite", found.calcite_mg_l, "calcite_mg_kg", 0.025 * row.number("calcite_mg_kg"));
        near("pH behind the bed", found.ph, "hardened_pH", 0.02);
        rows += 1;
    }
    assert_eq!(rows, 9, "three feeds, three shares");
}
