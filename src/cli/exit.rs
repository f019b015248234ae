/// How a command ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// Nothing to complain of.
    Clean,
    /// Findings at or above the class from which a check fails, or something that could not be compiled.
    Findings,
    /// The command was used wrongly.
    WrongUse,
    /// Something could not be read or written.
    Unreadable,
    /// A fault of this program.
    Fault,
}

impl Exit {
    /// The number that the shell sees.
    pub fn code(self) -> u8 {
        match self {
            Self::Clean => 0,
            Self::Findings => 1,
            Self::WrongUse => 2,
            Self::Unreadable => 3,
            Self::Fault => 70,
        }
    }
}
