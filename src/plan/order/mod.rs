//! Which order of the bends can be made, and which of those is made with the fewest hands.

mod extent;
mod judge;
mod lay;
mod obstacle;
mod outline;
mod search;

pub use judge::{BestOrder, DeadEnd, Handling, LaidIn, NoOrder, choose, judge};
pub use lay::{Lay, Names};
pub use obstacle::{Obstacle, choice_words, end_word, millimetres, touch_words};
pub use outline::Outline;
pub use search::{Blocked, Choice, Counts, Dead, Found, Rules, search};
