//! Stages of treatment.

use proptest::option::of;
use proptest::prelude::*;
use springhouse_core::outlet::Header;
use springhouse_core::quality::Constituent;
use springhouse_core::treatment::{Backwash, Carbon, Catch, Stage, StageKind};
use springhouse_core::ultraviolet::Ultraviolet;

fn kind() -> impl Strategy<Value = StageKind> {
    let carbon = (1.0..200.0, 1.0..600.0).prop_map(|(bed_l, contact_s)| StageKind::Carbon(Carbon { bed_l, contact_s }));
    let light =
        (10.0..80.0, 0.5..0.99, 0.0..20_000.0, 0.3..1.0).prop_map(|(dose, transmittance, start_h, end_share)| {
            StageKind::Ultraviolet(Ultraviolet {
                rated_mj_cm2: dose,
                rated_transmittance: transmittance,
                path_cm: 2.0,
                limit_mj_cm2: 40.0,
                start_h,
                life_h: 9_000.0,
                end_share,
                power_w: 40.0,
            })
        });
    prop_oneof![Just(StageKind::Sediment), carbon, Just(StageKind::IronFilter), Just(StageKind::Softener), light]
}

fn catch(kind: &StageKind) -> Option<Constituent> {
    match kind {
        StageKind::Sediment => Some(Constituent::Solids),
        StageKind::Carbon(_) => Some(Constituent::Chlorine),
        StageKind::IronFilter => Some(Constituent::Iron),
        StageKind::Softener => Some(Constituent::Hardness),
        StageKind::Ultraviolet(_) => None,
    }
}

/// A stage on either line; `wash` is the outlet of its backwash, where it has one.
pub(super) fn stage(number: usize, delivery: bool, wash: Option<usize>) -> impl Strategy<Value = Stage> {
    let losses = (0.05..2.0, prop_oneof![Just(0.0), 0.0..80.0], 0.0..150.0);
    let holds = (0.0..=1.0, 0.1..2_000.0, 0.0..1.5);
    (kind(), losses, of(holds), any::<bool>()).prop_map(
        move |(kind, (rated_lps, clean_kpa, growth_kpa), holds, behind)| Stage {
            name: format!("stage {number}"),
            header: if delivery && behind { Header::Delivery } else { Header::Raw },
            rated_lps,
            clean_kpa,
            limit_kpa: clean_kpa + growth_kpa,
            catch: holds.zip(catch(&kind)).map(|((share, capacity_g, used), constituent)| Catch {
                constituent,
                share,
                capacity_g,
                start_g: used * capacity_g,
            }),
            backwash: wash.map(|outlet| Backwash { outlet }),
            kind,
        },
    )
}
