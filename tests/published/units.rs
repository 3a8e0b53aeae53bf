//! Units of the sources, exact by definition (NIST SP 811, appendix B).

/// A foot, in metres.
pub(crate) const FT_M: f64 = 0.3048;
/// An inch, in millimetres.
pub(crate) const IN_MM: f64 = 25.4;
/// A US gallon of 231 cubic inches, in litres.
pub(crate) const GAL_L: f64 = 3.785_411_784;
/// A US gallon a minute, in litres a second.
pub(crate) const GPM_LPS: f64 = GAL_L / 60.0;
/// A pound-force a square inch, in kilopascals.
pub(crate) const PSI_KPA: f64 = 6.894_757_293_168;
/// A mechanical horsepower of 550 foot-pounds a second, in watts.
pub(crate) const HP_W: f64 = 745.699_871_582_270_2;
