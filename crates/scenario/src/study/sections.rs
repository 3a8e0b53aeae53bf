//! The sections of a study file and their keys.

use jiff::civil::Date;

use super::written::Written;
use crate::quantity::Share;
use crate::typed::{At, File, Number, Text, Tried, Whole, choice, section};

choice! {
    /// How values lie between two ends.
    StepsWord {
        /// As far from one to the next.
        Equal = "equal",
        /// Each so many times the one before: for what goes over several powers of ten.
        Ratio = "ratio",
    }
}

section! {
    /// What is asked, and of which scenario. These keys stand at the top of the file, before the first section.
    StudyFile {
        /// Short name of letters, digits, `-` and `_`; results are kept under it.
        optional name: Tried<At<Text>> = "storage", "the file's name without its extension";
        /// One line that says what is asked.
        optional title: Tried<Text> = "How small can storage be?", "the name";
        /// The scenario that is varied, from this file's folder.
        required scenario: Tried<File> = "../full-house.toml";
        /// First day of every run.
        optional from: Tried<Date> = "2027-07-02", "the scenario's `start`";
        /// Days of every run.
        optional days: Tried<Whole<1, 3660>> = "3", "the scenario's `days`";
        /// Seed of everything random: what people do, the weather, and what is uncertain.
        optional seed: Tried<Whole<0, 4_294_967_295>> = "1", "the scenario's `seed`";
        /// Runs of each variant. Run 7 of one meets the same mornings and weather as run 7 of any other.
        default runs: Tried<Whole<1, 10_000_000>> = "100";
        /// So many variants, spread evenly over all that is varied, in place of every combination.
        optional filling: Tried<Whole<1, 1_000_000>> = "64", "every combination of what is varied";
        /// What is kept of every run: figures of its `summary.json` by their paths, as `storage.lowest_l` or
        /// `hot_water[water heater].lukewarm_minutes`.
        optional figures: Tried<Vec<At<Text>>> = "[\"water.run_outs\", \"storage.lowest_l\"]", "run-outs, and what else the plant has of lowest storage, lukewarm water, energy and cost";
        /// The variant that the others are compared with, counted from one.
        default reference: Tried<At<Whole<1, 1_000_000>>> = "1";
        /// How often an interval is to hold the truth, from 50 to 99.99 %.
        default confidence: Tried<At<Share>> = "95 %";
        /// What is varied, once for each. Several make every combination.
        list vary: Tried<At<Vary>>;
        /// What nobody knows for sure, once for each: every run takes another value, and run 7 of every variant the same.
        list uncertain: Tried<At<Uncertain>>;
        /// When a run falls short.
        section falls_short: Tried<FallsShort>;
        /// When a variant needs no more runs.
        optional stop: Tried<At<Stop>> = "half_width", "every variant gets all of its `runs`";
        /// What is wanted of a variant: `springhouse size` looks for the smallest that holds it.
        optional target: Tried<At<Target>> = "chance", "nothing is wanted";
    }
}

section! {
    /// A key of the scenario that takes several values, or several keys that change together.
    Vary {
        /// The key by its path: `storage.volume`, `building[house].people[2].count`.
        optional key: Tried<At<Text>> = "storage.volume", "`keys`";
        /// Keys that change together.
        optional keys: Tried<At<Vec<At<Text>>>> = "[\"storage.volume\", \"storage.float_switch.start\"]", "`key`";
        /// What it is called in tables and pictures.
        optional name: Tried<Text> = "storage", "the key";
        /// The values, written as in the scenario; of `keys` a list of lists, each with a value for every key.
        optional values: Tried<At<Vec<Written>>> = "[\"300 gal\", \"500 gal\"]", "`first` and `last`";
        /// In place of `values`: the first of a range,
        optional first: Tried<Written> = "\"300 gal\"", "`values`";
        /// and the last.
        optional last: Tried<Written> = "\"1400 gal\"", "`values`";
        /// How many values a range has, both ends among them. A study with `filling` takes any between the ends.
        default count: Tried<Whole<2, 100_000>> = "12";
        /// How the values of a range lie.
        default steps: Tried<StepsWord> = "equal";
        /// What each value costs, in your money: `springhouse size` then looks for the cheapest.
        optional prices: Tried<At<Vec<At<Number<0, 1_000_000_000>>>>> = "[400, 650]", "a smaller value is as good as a cheaper one";
        /// Sizes that can be bought: `springhouse size` says which of them to take.
        optional trade: Tried<At<Vec<Written>>> = "[\"330 gal\", \"550 gal\"]", "any size will do";
    }
}

section! {
    /// What nobody knows for sure: a key, and how likely its values are. Give `low` and `high`; or these and `likely`; or `mean` and
    /// `deviation`; or `mean` and `variation`; or `values`.
    Uncertain {
        /// The key by its path.
        required key: Tried<At<Text>> = "well.specific_capacity";
        /// Least value; with `high` alone, all between are as likely.
        optional low: Tried<Written> = "\"0.2 gpm/ft\"", "no end, or another way to tell it";
        /// Most.
        optional high: Tried<Written> = "\"0.6 gpm/ft\"", "no end, or another way to tell it";
        /// The likeliest between `low` and `high`: a triangular distribution.
        optional likely: Tried<Written> = "\"0.35 gpm/ft\"", "all are as likely";
        /// Mean of a normal distribution, or with `variation` of a lognormal one.
        optional mean: Tried<Written> = "\"0.35 gpm/ft\"", "another way to tell it";
        /// Standard deviation of a normal distribution.
        optional deviation: Tried<Written> = "\"0.1 gpm/ft\"", "another way to tell it";
        /// Standard deviation of a lognormal distribution as a part of its mean.
        optional variation: Tried<Share> = "30 %", "another way to tell it";
        /// Some values.
        optional values: Tried<At<Vec<Written>>> = "[\"0.2 gpm/ft\", \"0.4 gpm/ft\"]", "another way to tell it";
        /// How often each of `values` comes, beside the others.
        optional weights: Tried<At<Vec<At<Number<0, 1_000_000>>>>> = "[1, 3]", "all of `values` as often";
    }
}

section! {
    /// When a run falls short: a figure of its summary passes a limit. Without a limit: when there is more than none.
    FallsShort {
        /// The figure by its path.
        default figure: Tried<At<Text>> = "water.run_outs";
        /// The most that does not fall short, in the figure's own unit.
        optional at_most: Tried<At<Number<-1_000_000_000, 1_000_000_000>>> = "0", "0, or `at_least`";
        /// The least that does not fall short, in the figure's own unit.
        optional at_least: Tried<At<Number<-1_000_000_000, 1_000_000_000>>> = "500", "`at_most`";
    }
}

section! {
    /// When a variant needs no more runs: how often it falls short is then sure enough. Looked at in the order of the runs, and the
    /// interval holds however often it is looked at.
    Stop {
        /// Half the width of the interval that is narrow enough.
        optional half_width: Tried<Share> = "2 %", "`chance` alone";
        /// A chance that it is enough to be surely above or below of.
        optional chance: Tried<Share> = "1 %", "that of the target, if it has one";
        /// Runs before the first look.
        default least_runs: Tried<Whole<1, 10_000_000>> = "50";
        /// Runs from one look to the next.
        default look_every: Tried<Whole<1, 10_000_000>> = "10";
    }
}

section! {
    /// What is wanted of a variant: `chance`, or a figure with its limit.
    Target {
        /// Most runs that may fall short, as a part of all.
        optional chance: Tried<Share> = "1 %", "a figure";
        /// A figure by its path: its mean over the runs is to be within a limit.
        optional figure: Tried<At<Text>> = "hot_water[water heater].lukewarm_minutes", "`chance`";
        /// The most of it, in its own unit.
        optional at_most: Tried<At<Number<-1_000_000_000, 1_000_000_000>>> = "5", "`at_least`";
        /// The least of it, in its own unit.
        optional at_least: Tried<At<Number<-1_000_000_000, 1_000_000_000>>> = "500", "`at_most`";
    }
}
