/// What is to be timed: units in chains, one chain a lane, over resources of limited capacity. Times in ms.
#[derive(Clone, Debug, Default)]
pub struct Problem {
    /// One for each lane: its units, one after the other, with as much time between as is needed.
    pub chains: Vec<Vec<Unit>>,
    /// How much of each resource there is: operators, or supplies in steps of 10 mA.
    pub capacities: Vec<i64>,
}

/// What nothing may interrupt or stretch: hands laying a sheet in, or a press with its heat, swing and set.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Unit {
    /// How long the lane is taken.
    pub lasts: i64,
    /// What it needs.
    pub pieces: Vec<Piece>,
}

/// A need for a resource, from the start of the unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece {
    /// When it begins.
    pub from: i64,
    /// When it ends.
    pub until: i64,
    /// Which resource.
    pub resource: usize,
    /// How much of it.
    pub amount: i64,
}

/// When each unit of each chain starts.
pub type Starts = Vec<Vec<i64>>;

impl Problem {
    /// How many units there are.
    pub fn size(&self) -> usize {
        self.chains.iter().map(Vec::len).sum()
    }

    /// When the last unit ends.
    pub fn end(&self, starts: &Starts) -> i64 {
        let ends = self.chains.iter().zip(starts).filter_map(|(chain, starts)| {
            let (unit, start) = (chain.last()?, starts.get(chain.len() - 1)?);
            Some(start + unit.lasts)
        });
        ends.max().unwrap_or(0)
    }

    /// The time from the start of each unit to the end of its chain.
    pub fn tails(&self) -> Vec<Vec<i64>> {
        let tail = |chain: &Vec<Unit>| {
            let mut left = 0;
            let mut tails: Vec<i64> = chain
                .iter()
                .rev()
                .map(|unit| {
                    left += unit.lasts;
                    left
                })
                .collect();
            tails.reverse();
            tails
        };
        self.chains.iter().map(tail).collect()
    }

    /// The earliest start of each unit if its chain had everything to itself.
    pub fn heads(&self) -> Starts {
        let head = |chain: &Vec<Unit>| {
            let mut at = 0;
            let place = |unit: &Unit| {
                let start = at;
                at += unit.lasts;
                start
            };
            chain.iter().map(place).collect()
        };
        self.chains.iter().map(head).collect()
    }
}
