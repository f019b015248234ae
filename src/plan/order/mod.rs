//! Which order of the bends can be made, and which of those is made with the fewest hands.

mod judge;
mod lay;
mod obstacle;
mod search;

pub use judge::{BestOrder, DeadEnd, Handling, LaidIn, NoOrder, choose, handling, usual_side};
pub use lay::{Lay, Names};
pub use obstacle::{Obstacle, choice_words, end_word, millimetres, touch_words};
pub use search::{Blocked, Choice, Counts, Dead, Found, Rules, search};
