//! What must hold for every plant, whatever happens to it.

mod balance;
mod split;
