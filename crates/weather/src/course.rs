//! A smooth course over the year with given means of the months.

use jiff::civil::Date;

use crate::hour::month_index;

/// Straight lines from the middle of each month to that of the next.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Course {
    middles: [f64; 12],
}

impl Course {
    /// The course whose means are those of the months.
    ///
    /// A month's mean is three quarters of its middle and an eighth of each neighbour's. Middles that are the means
    /// themselves would cut off the peaks; the iteration halves what is left each time at least.
    pub(crate) fn new(means: [f64; 12]) -> Self {
        let mut middles = means;
        for _ in 0..60 {
            let old = middles;
            for (month, middle) in middles.iter_mut().enumerate() {
                let around = old[(month + 11) % 12] + old[(month + 1) % 12];
                *middle += means[month] - 0.75 * old[month] - 0.125 * around;
            }
        }
        Self { middles }
    }

    /// The value at the noon of a date.
    pub(crate) fn at(&self, date: Date) -> f64 {
        let month = month_index(date);
        let beyond_middle = (f64::from(date.day()) - 0.5) / f64::from(date.days_in_month()) - 0.5;
        let other = if beyond_middle < 0.0 { (month + 11) % 12 } else { (month + 1) % 12 };
        let far = beyond_middle.abs();
        self.middles[month] * (1.0 - far) + self.middles[other] * far
    }
}

#[cfg(test)]
mod tests {
    use jiff::ToSpan;
    use jiff::civil::date;
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn exact_means_of_the_months_are_kept(means in proptest::array::uniform12(-30.0..40.0_f64)) {
            let course = Course::new(means);
            let mut day = date(2027, 1, 1);
            let mut sums = [(0.0, 0.0); 12];
            while day.year() == 2027 {
                let (sum, days) = &mut sums[month_index(day)];
                *sum += course.at(day);
                *days += 1.0;
                day = day.saturating_add(1.day());
            }
            for (month, (sum, days)) in sums.into_iter().enumerate() {
                // A month of an odd number of days gives its neighbours an eighth less a part in 29² of it.
                let [before, at, after] = [11, 0, 1].map(|step| course.middles[(month + step) % 12]);
                let bend = (before - 2.0 * at + after).abs();
                prop_assert!((sum / days - means[month]).abs() < bend / (8.0 * 29.0 * 29.0) + 1e-9);
            }
        }
    }

    #[test]
    fn exact_no_course_is_flat() {
        let course = Course::new([7.0; 12]);
        assert_eq!(course.at(date(2028, 2, 29)), 7.0);
    }

    #[test]
    fn a_course_has_no_steps() {
        let mut means = [0.0; 12];
        means[6] = 30.0;
        let course = Course::new(means);
        let (mut day, mut steepest) = (date(2027, 1, 1), 0.0_f64);
        while day.year() == 2027 {
            let next = day.saturating_add(1.day());
            steepest = steepest.max((course.at(next) - course.at(day)).abs());
            day = next;
        }
        // The middle is 44 at most, and a month has 28 days at least.
        assert!(steepest < 2.0, "{steepest}");
    }
}
