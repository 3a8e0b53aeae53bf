//! Water in layers, the coldest at the bottom: a list of fixed length that never allocates.

use serde::{Deserialize, Serialize};

/// Layers that a tank has at most.
pub const MOST_LAYERS: usize = 80;

/// Layers closer than this are one when they meet.
const ALIKE_K: f64 = 0.01;

/// Part of all the water below which a rest of a layer is no layer of its own.
const SLIVER: f64 = 1e-9;

/// Water of one temperature.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Layer {
    /// How much.
    pub volume_l: f64,
    /// How warm.
    pub temp_c: f64,
}

impl Layer {
    /// Two layers mixed.
    #[must_use]
    pub(super) fn mixed(self, other: Self) -> Self {
        let volume_l = self.volume_l + other.volume_l;
        let temp_c = self.temp_c + (other.temp_c - self.temp_c) * (other.volume_l / volume_l);
        Self { volume_l, temp_c }
    }
}

/// The layers of a tank, from its bottom up; at least one.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(try_from = "Vec<Layer>", into = "Vec<Layer>")]
pub struct Layers {
    list: [Layer; MOST_LAYERS],
    count: usize,
}

impl PartialEq for Layers {
    fn eq(&self, other: &Self) -> bool {
        self.as_slice() == other.as_slice()
    }
}

impl From<Layers> for Vec<Layer> {
    fn from(layers: Layers) -> Self {
        layers.as_slice().to_vec()
    }
}

impl TryFrom<Vec<Layer>> for Layers {
    type Error = String;

    fn try_from(saved: Vec<Layer>) -> Result<Self, String> {
        let sound = |layer: &Layer| layer.volume_l > 0.0 && layer.volume_l.is_finite() && layer.temp_c.is_finite();
        if saved.is_empty() || saved.len() > MOST_LAYERS || !saved.iter().all(sound) {
            return Err(format!("a tank has 1 to {MOST_LAYERS} layers, each with a volume and a temperature"));
        }
        let mut list = [Layer::default(); MOST_LAYERS];
        for (place, layer) in list.iter_mut().zip(&saved) {
            *place = *layer;
        }
        Ok(Self { list, count: saved.len() })
    }
}

impl Layers {
    /// Water of one temperature throughout.
    #[must_use]
    pub fn uniform(volume_l: f64, temp_c: f64) -> Self {
        let mut list = [Layer::default(); MOST_LAYERS];
        list[0] = Layer { volume_l, temp_c };
        Self { list, count: 1 }
    }

    /// The layers from the bottom up.
    #[must_use]
    pub fn as_slice(&self) -> &[Layer] {
        &self.list[..self.count]
    }

    pub(crate) fn as_mut_slice(&mut self) -> &mut [Layer] {
        &mut self.list[..self.count]
    }

    /// All the water.
    #[must_use]
    pub fn volume_l(&self) -> f64 {
        self.as_slice().iter().map(|layer| layer.volume_l).sum()
    }

    /// The layer at the top.
    #[must_use]
    pub fn top(&self) -> Layer {
        self.list[self.count - 1]
    }

    /// The layer at the bottom.
    #[must_use]
    pub fn bottom(&self) -> Layer {
        self.list[0]
    }

    /// The layer that holds the edge over so much water.
    pub(super) fn over(&self, under_l: f64) -> Layer {
        let mut left_l = under_l;
        for layer in self.as_slice() {
            if left_l < layer.volume_l {
                return *layer;
            }
            left_l -= layer.volume_l;
        }
        self.top()
    }

    /// The layer that holds the edge under so much water.
    pub(super) fn under(&self, over_l: f64) -> Layer {
        let mut left_l = over_l;
        for layer in self.as_slice().iter().rev() {
            if left_l <= layer.volume_l {
                return *layer;
            }
            left_l -= layer.volume_l;
        }
        self.bottom()
    }

    /// Lets all water of a vessel lose such a part of its warmth over the air; the sum of litres times kelvins lost.
    pub(crate) fn cool(&mut self, part: f64, air_c: f64, vessel_l: f64) -> f64 {
        // The part that is told is the one that goes, to the bit.
        let kept = 1.0 - part;
        let part = 1.0 - kept;
        let gained_c = part * air_c;
        let mut warmth = 0.0;
        for layer in self.as_mut_slice() {
            warmth += layer.volume_l * layer.temp_c;
            layer.temp_c = kept * layer.temp_c + gained_c;
        }
        part * (warmth - vessel_l * air_c)
    }

    /// Mean temperature of so much water at the top.
    pub(crate) fn top_mean_c(&self, litres: f64) -> f64 {
        let (mut left_l, mut sum) = (litres, 0.0);
        for layer in self.as_slice().iter().rev() {
            if left_l <= layer.volume_l {
                return (sum + left_l * layer.temp_c) / litres;
            }
            sum += layer.volume_l * layer.temp_c;
            left_l -= layer.volume_l;
        }
        sum / (litres - left_l)
    }

    /// Mean temperature of the water between two edges, given by how much is under them.
    pub(crate) fn mean_c(&self, from_l: f64, to_l: f64) -> f64 {
        let (mut under_l, mut volume_l, mut sum) = (0.0, 0.0, 0.0);
        for layer in self.as_slice() {
            if under_l >= to_l {
                break;
            }
            let over_l: f64 = under_l + layer.volume_l;
            let within_l = over_l.min(to_l) - from_l.max(under_l);
            if within_l > 0.0 {
                volume_l += within_l;
                sum += within_l * layer.temp_c;
            }
            under_l = over_l;
        }
        if volume_l > 0.0 { sum / volume_l } else { self.over(from_l).temp_c }
    }

    /// Mixes the most alike neighbours until so many more layers have a place.
    pub(super) fn make_room(&mut self, places: usize) {
        while self.count > 1 && self.count + places > MOST_LAYERS {
            let mut least = (0, f64::INFINITY);
            for (i, pair) in self.as_slice().windows(2).enumerate() {
                // What mixing takes from the sum of squares of the temperatures.
                let step_k = pair[1].temp_c - pair[0].temp_c;
                let volumes = pair[0].volume_l * pair[1].volume_l / (pair[0].volume_l + pair[1].volume_l);
                let loss = volumes * step_k * step_k;
                if loss < least.1 {
                    least = (i, loss);
                }
            }
            self.mix(least.0, least.0 + 2);
        }
    }

    /// Makes one layer of those from `from` up to but without `to`.
    pub(super) fn mix(&mut self, from: usize, to: usize) {
        let to = to.min(self.count);
        if to < from + 2 {
            return;
        }
        self.list[from] = self.list[from + 1..to].iter().fold(self.list[from], |all, layer| all.mixed(*layer));
        self.list.copy_within(to..self.count, from + 1);
        self.count -= to - from - 1;
    }

    /// Puts a layer in at a place; there must be room.
    pub(super) fn insert(&mut self, at: usize, layer: Layer) {
        debug_assert!(self.count < MOST_LAYERS, "room was made");
        self.list.copy_within(at..self.count, at + 1);
        self.list[at] = layer;
        self.count += 1;
    }

    /// Cuts the layer that has so much water under its edge; how many layers are under the edge then. There must be room.
    /// Where the edge is a sliver away, of the vessel's volume, nothing is cut.
    pub(super) fn cut(&mut self, under_l: f64, vessel_l: f64) -> usize {
        let least_l = SLIVER * vessel_l;
        let mut left_l = under_l;
        for i in 0..self.count {
            let layer = self.list[i];
            if left_l <= least_l {
                return i;
            }
            if left_l < layer.volume_l - least_l {
                self.list[i].volume_l = layer.volume_l - left_l;
                self.insert(i, Layer { volume_l: left_l, ..layer });
                return i + 1;
            }
            left_l -= layer.volume_l;
        }
        self.count
    }

    /// Puts water in at a place, into the layer above where that is as warm or it is a sliver of the vessel, between which
    /// conduction would drown in rounding; there must be room.
    pub(super) fn push(&mut self, at: usize, layer: Layer, vessel_l: f64) {
        let joins = |above: &Layer| (above.temp_c - layer.temp_c).abs() < ALIKE_K || layer.volume_l < SLIVER * vessel_l;
        if self.as_slice().get(at).is_some_and(joins) {
            self.list[at] = self.list[at].mixed(layer);
        } else {
            self.insert(at, layer);
        }
    }

    /// Takes water off the top, layer by layer; no sliver of the vessel is left there.
    pub(super) fn take_off(&mut self, litres: f64, vessel_l: f64, mut each: impl FnMut(Layer)) {
        let least_l = SLIVER * vessel_l;
        let mut left_l = litres;
        while left_l > 0.0 {
            let top = self.top();
            if top.volume_l <= left_l && self.count > 1 {
                each(top);
                left_l -= top.volume_l;
                self.count -= 1;
                continue;
            }
            each(Layer { volume_l: left_l, ..top });
            self.list[self.count - 1].volume_l -= left_l;
            if self.top().volume_l < least_l && self.count > 1 {
                self.mix(self.count - 2, self.count);
            }
            return;
        }
    }

    /// Lets water in at the bottom of a pipe while as much leaves at the top: what is alike is mixed afterwards, so that what
    /// leaves is what was at the top.
    pub(crate) fn pass(&mut self, inflow: Layer, pipe_l: f64, each: impl FnMut(Layer)) {
        self.make_room(1);
        self.insert(0, inflow);
        self.take_off(inflow.volume_l, pipe_l, each);
        if let [lowest, next, ..] = self.as_slice()
            && ((lowest.temp_c - next.temp_c).abs() < ALIKE_K || lowest.volume_l < SLIVER * pipe_l)
        {
            self.mix(0, 2);
        }
        // Now, so that what is seen at the top until the next time is what leaves then.
        self.make_room(1);
        self.true_up(pipe_l);
    }

    /// Mixes until no layer is warmer than the one above it, where all but those from `from` up to but without `to` are in order
    /// with the one above.
    pub(super) fn overturn(&mut self, from: usize, to: usize) {
        let slice = self.as_slice();
        let is_over = |i: &usize| slice[*i].temp_c > slice[i + 1].temp_c;
        let Some(first) = (from..to.min(slice.len() - 1)).find(is_over) else { return };
        let (mut kept, mut i) = (first + 1, first + 1);
        // Up to where layers are in order again.
        while i < self.count && (i < to || self.list[kept - 1].temp_c > self.list[i].temp_c) {
            let mut layer = self.list[i];
            while kept > 0 && self.list[kept - 1].temp_c > layer.temp_c {
                layer = self.list[kept - 1].mixed(layer);
                kept -= 1;
            }
            self.list[kept] = layer;
            kept += 1;
            i += 1;
        }
        self.list.copy_within(i..self.count, kept);
        self.count -= i - kept;
    }

    /// Keeps so many of the lowest layers.
    pub(super) fn keep(&mut self, count: usize) {
        self.count = count;
    }

    /// Makes the volumes add up, by a rounding of the lowest.
    pub(super) fn true_up(&mut self, volume_l: f64) {
        self.list[0].volume_l += volume_l - self.volume_l();
    }
}
