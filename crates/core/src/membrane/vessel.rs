//! Elements in series in a vessel, and equal vessels side by side.

use super::element::{ElementAt, Passage, Stream};

/// The most elements in series in one vessel: detail is kept in arrays of fixed size.
pub const MOST_ELEMENTS: usize = 6;

/// Equal vessels side by side, at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Array {
    /// One of the equal elements.
    pub element: ElementAt,
    /// Elements in series in each vessel, 1 to [`MOST_ELEMENTS`].
    pub in_series: usize,
    /// Vessels side by side.
    pub vessels: f64,
}

/// What becomes of a feed on its way through the vessels.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct March {
    /// Product of all vessels.
    pub product_lps: f64,
    /// Salt that goes with it.
    pub product_salt_mg_s: f64,
    /// Concentrate of all vessels.
    pub concentrate: Stream,
    /// Each element of one vessel, from the feed on; those that are not there are zero.
    pub elements: [Passage; MOST_ELEMENTS],
}

impl Array {
    /// Sends a feed through; `recoveries` are guesses at those of the elements, and come back as found.
    #[must_use]
    pub fn march(&self, feed: &Stream, recoveries: &mut [f64; MOST_ELEMENTS]) -> March {
        let mut stream = Stream { flow_lps: feed.flow_lps / self.vessels, ..*feed };
        let mut march = March::default();
        for (passage, recovery) in march.elements.iter_mut().zip(recoveries).take(self.in_series) {
            *passage = self.element.pass(&stream, *recovery);
            *recovery = passage.recovery;
            march.product_lps += self.vessels * passage.product_lps;
            march.product_salt_mg_s += self.vessels * passage.product_lps * passage.product_salt_mg_l;
            stream = passage.concentrate;
        }
        // Less what passed, so that the books of the whole close and not only those of one vessel.
        march.concentrate = Stream { flow_lps: feed.flow_lps - march.product_lps, ..stream };
        march
    }
}
