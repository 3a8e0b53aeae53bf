//! What a person calls variants: what sets each apart from the others.

use std::collections::BTreeMap;

use springhouse_study::many::{ColumnKind, Plan};

use super::Told;
use super::figure::tail;

/// Names of the variants of a plan.
pub(crate) struct Names<'a> {
    plan: &'a Plan,
    is_sweep: bool,
    /// Keys that are not the same in all variants.
    pub(crate) varying: Vec<usize>,
    /// Those of them that a name takes, and whether another is written in the same unit.
    naming: Vec<(usize, bool)>,
}

impl<'a> Names<'a> {
    pub(crate) fn of(told: &Told<'a>) -> Self {
        let plan = told.plan;
        let varying = if told.is_sweep() { varying(plan) } else { Vec::new() };
        let mut naming = varying.clone();
        for axis in &plan.axes {
            let own = |key: &usize| (axis.first_key..axis.first_key.saturating_add(axis.keys)).contains(key);
            let together: Vec<usize> = varying.iter().copied().filter(own).collect();
            // Of keys that change together the first is enough where all others follow from it.
            if let [first, others @ ..] = together.as_slice()
                && follow(plan, *first, others)
            {
                naming.retain(|key| !others.contains(key));
            }
        }
        let kind = |key: usize| plan.keys.get(key).map(|column| &column.kind);
        let alike = |key: usize| naming.iter().filter(|other| kind(**other) == kind(key)).count() > 1;
        let naming: Vec<(usize, bool)> = naming.iter().map(|key| (*key, alike(*key))).collect();
        Self { plan, is_sweep: told.is_sweep(), varying, naming }
    }

    /// What a variant is called.
    pub(crate) fn name(&self, variant: usize) -> String {
        let Some(settings) = self.plan.variants.get(variant).map(|it| &it.settings) else { return String::new() };
        if !self.is_sweep {
            return settings.first().cloned().unwrap_or_default();
        }
        let said = self.naming.iter().filter_map(|(key, alike)| {
            let setting = settings.get(*key)?;
            // A quantity is known by its unit, unless another has the same, and a word by itself.
            let says = match self.plan.keys.get(*key)?.kind {
                ColumnKind::Quantity(_) => true,
                ColumnKind::Number => false,
                ColumnKind::Text => !matches!(setting.as_str(), "true" | "false"),
            };
            Some(if says && !alike { setting.clone() } else { self.with_key(*key, setting) })
        });
        let name = said.collect::<Vec<_>>().join(", ");
        if name.is_empty() { "as the scenario says".to_owned() } else { name }
    }

    /// The same, with what is set where that is a single key.
    pub(crate) fn full_name(&self, variant: usize) -> String {
        let settings = self.plan.variants.get(variant).map(|it| &it.settings);
        match (self.naming.as_slice(), settings) {
            ([(key, _)], Some(settings)) => settings.get(*key).map_or_else(String::new, |it| self.with_key(*key, it)),
            _ => self.name(variant),
        }
    }

    fn with_key(&self, key: usize, setting: &str) -> String {
        format!("{} {setting}", self.key_words(key))
    }

    /// What a person calls a key: the end of its path where that tells it from the others.
    pub(crate) fn key_words(&self, key: usize) -> String {
        let Some(path) = self.plan.keys.get(key).map(|column| &column.key) else { return String::new() };
        // A key that is varied by itself has the name that the study gives it.
        if let Some(axis) = self.plan.axes.iter().find(|axis| axis.first_key == key && axis.keys == 1)
            && axis.name != *path
        {
            return axis.name.clone();
        }
        let words = tail(path);
        let alike = self.plan.keys.iter().filter(|column| tail(&column.key) == words).count();
        if alike > 1 { path.clone() } else { words }
    }
}

/// Keys that are not the same in all variants.
fn varying(plan: &Plan) -> Vec<usize> {
    let setting = |variant: usize, key: usize| plan.variants.get(variant).and_then(|it| it.settings.get(key));
    let varies = |key: &usize| (1..plan.variants.len()).any(|it| setting(it, *key) != setting(0, *key));
    (0..plan.keys.len()).filter(varies).collect()
}

/// Whether variants with the same setting of the first key have the same of the others.
fn follow(plan: &Plan, first: usize, others: &[usize]) -> bool {
    let mut seen: BTreeMap<Option<&String>, Vec<Option<&String>>> = BTreeMap::new();
    plan.variants.iter().all(|variant| {
        let rest: Vec<_> = others.iter().map(|key| variant.settings.get(*key)).collect();
        *seen.entry(variant.settings.get(first)).or_insert_with(|| rest.clone()) == rest
    })
}
