//! An element: from its plate, or by its constants.

use springhouse_core::membrane::element;
use springhouse_core::membrane::osmosis::OsmoticModel;
use springhouse_core::membrane::plate::{ElementPlate, PlateError};

use crate::assemble::{place, positive, refuse_several};
use crate::diagnostic::Diagnostic;
use crate::display::Units;
use crate::sections::Element;
use crate::source::Stretch;
use crate::typed::{At, Reader};

/// Product over feed in the usual test of an element: common practice.
const USUAL_TEST_RECOVERY: f64 = 0.15;
const DAY_S: f64 = 86_400.0;

/// The keys of a plate; all but the last are needed.
const PLATE: [&str; 5] = ["product", "rejection", "test_pressure", "test_salt", "test_recovery"];
const CONSTANTS: [&str; 2] = ["water_permeability", "salt_permeability"];

pub(super) fn element(at: &At<Element>, osmotic: OsmoticModel, reader: &mut Reader<'_>) -> Option<element::Element> {
    let section = &at.value;
    let like = like(section, reader)?;
    let (plate, constants) = (plate_places(section), constant_places(section));
    let first = |places: &[(&'static str, Option<Stretch>)]| places.iter().copied().find(|(_, place)| place.is_some());
    if let (Some(plate), Some(constant)) = (first(&plate), first(&constants)) {
        refuse_several("membrane.element", &[constant, plate], reader);
        return None;
    }
    if first(&constants).is_some() {
        return by_constants(at, like, reader);
    }
    if first(&plate).is_none() {
        reader.tell(
            Diagnostic::error("`membrane.element` does not say what passes it")
                .at(at.place, "no plate and no constants here")
                .help(
                    "from its plate or data sheet: `product`, `rejection`, `test_pressure` and `test_salt`; \
                     or `water_permeability` and `salt_permeability`",
                ),
        );
        return None;
    }
    let (given, plate) = plate_of(at, reader)?;
    // Elements are tested with sodium chloride, whatever the water here makes of it.
    let tested = match osmotic {
        OsmoticModel::Chloride { .. } => OsmoticModel::Chloride { share: 1.0 },
        ideal @ OsmoticModel::Ideal { .. } => ideal,
    };
    match plate.element(&like, tested) {
        Ok(element) => Some(element),
        Err(fault) => {
            let units = reader.units.unwrap_or(Units::Us);
            reader.tell(refused(&fault, at, &given, units));
            None
        }
    }
}

/// All of an element but its permeabilities.
fn like(section: &Element, reader: &mut Reader<'_>) -> Option<element::Element> {
    let usual = section.size.value.size().element();
    Some(element::Element {
        area_m2: match section.area {
            Some(area) => positive("area", area.value.m2(), area.place, reader)?,
            None => usual.area_m2,
        },
        water_temp_k: section.water_temperature_constant.map_or(usual.water_temp_k, |constant| constant.value.k()),
        salt_temp_k: section.salt_temperature_constant.map_or(usual.salt_temp_k, |constant| constant.value.k()),
        channel_loss_kpa: section.channel_loss.map_or(usual.channel_loss_kpa, |loss| loss.value.kpa()),
        channel_exponent: section.channel_exponent.map_or(usual.channel_exponent, |exponent| exponent.value.0),
        polarisation: section.polarisation.map_or(usual.polarisation, |exponent| exponent.value.0),
        ..usual
    })
}

fn by_constants(at: &At<Element>, like: element::Element, reader: &mut Reader<'_>) -> Option<element::Element> {
    let section = &at.value;
    for (key, place) in constant_places(section) {
        if place.is_none() {
            let why = format!("{} go together", CONSTANTS.map(|key| format!("`{key}`")).join(" and "));
            reader.require(at.place, Element::SECTION, key, Some(&why));
        }
    }
    Some(element::Element {
        water_permeability_l_m2_h_bar: section.water_permeability?.value.l_m2_h_bar(),
        salt_permeability_l_m2_h: section.salt_permeability?.value.l_m2_h(),
        ..like
    })
}

type Places = [(&'static str, Option<Stretch>); 5];

/// The plate, and where its keys stand.
fn plate_of(at: &At<Element>, reader: &mut Reader<'_>) -> Option<(Places, ElementPlate)> {
    let section = &at.value;
    let given = plate_places(section);
    for (key, _) in given.iter().take(PLATE.len() - 1).filter(|(_, place)| place.is_none()) {
        reader.require(at.place, Element::SECTION, key, Some("the plate of an element is not whole without it"));
    }
    let plate = ElementPlate {
        product_l_day: DAY_S * section.product?.value.lps(),
        rejection: section.rejection?.value.of_one(),
        test_kpa: section.test_pressure?.value.kpa(),
        test_salt_mg_l: section.test_salt?.value.mg_l(),
        test_recovery: section.test_recovery.map_or(USUAL_TEST_RECOVERY, |recovery| recovery.value.of_one()),
    };
    Some((given, plate))
}

fn refused(fault: &PlateError, at: &At<Element>, given: &Places, units: Units) -> Diagnostic {
    let at_key = |key: &str| given.iter().find(|(name, _)| *name == key).and_then(|(_, place)| *place);
    match *fault {
        PlateError::OutOfRange { key, value, least, most } => {
            let place = at_key(key).unwrap_or(at.place);
            let note = "no element can have such a plate";
            if value <= 0.0 {
                return Diagnostic::error(format!("`{key}` must be more than zero")).at(place, "too small").note(note);
            }
            if key == "rejection" && value > most {
                return Diagnostic::error("`rejection` must be less than 100 %").at(place, "too large").note(note);
            }
            let dimension = Element::SECTION.field(key).and_then(|field| (field.shape)().dimension());
            let in_base = |value: f64| if key == "product" { value / DAY_S } else { value };
            let shown = |value: f64| dimension.map_or(String::new(), |it| units.quantity(it, in_base(value)));
            let (bound, limit, label) =
                if value > most { ("most", most, "too large") } else { ("least", least, "too small") };
            Diagnostic::error(format!("`{key}` is {}, but must be at {bound} {}", shown(value), shown(limit)))
                .at(place, label)
                .note(note)
        }
        PlateError::NoDrivingPressure { test_kpa, osmotic_kpa, loss_kpa } => {
            let title = format!("a test at {} leaves no pressure to drive the product", units.pressure(test_kpa));
            let fault = Diagnostic::error(title).at(at_key("test_pressure").unwrap_or(at.place), "too little");
            let fault = match at_key("test_salt") {
                Some(salt) => fault.at(salt, format!("takes {} at the membrane", units.pressure(osmotic_kpa))),
                None => fault,
            };
            fault
                .note(format!("half the loss along the channel takes {}", units.pressure(loss_kpa)))
                .help("take pressure, salt and product from one line of the data sheet")
        }
    }
}

fn plate_places(section: &Element) -> Places {
    let [product, rejection, pressure, salt, recovery] = PLATE;
    [
        (product, place(section.product.as_ref())),
        (rejection, place(section.rejection.as_ref())),
        (pressure, place(section.test_pressure.as_ref())),
        (salt, place(section.test_salt.as_ref())),
        (recovery, place(section.test_recovery.as_ref())),
    ]
}

fn constant_places(section: &Element) -> [(&'static str, Option<Stretch>); 2] {
    let [water, salt] = CONSTANTS;
    [(water, place(section.water_permeability.as_ref())), (salt, place(section.salt_permeability.as_ref()))]
}
