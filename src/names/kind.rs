/// What a declaration declares.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum DeclKind {
    /// A resistance alloy of the catalogue.
    Alloy,
    /// Runs that belong together.
    Batch,
    /// A bench.
    Bench,
    /// A controller.
    Controller,
    /// A heater.
    Heater,
    /// A named expression.
    Let,
    /// Sheet that lies on the rack.
    Lot,
    /// A sheet material of the catalogue.
    Material,
    /// A metal of leads and shields.
    Metal,
    /// A part.
    Part,
    /// A recipe.
    Recipe,
    /// A kind of sheet.
    Sheet,
    /// A supply.
    Supply,
    /// A resistance wire.
    Wire,
}

impl DeclKind {
    /// All kinds, in the order of their words.
    pub const ALL: [Self; 14] = [
        Self::Alloy,
        Self::Batch,
        Self::Bench,
        Self::Controller,
        Self::Heater,
        Self::Let,
        Self::Lot,
        Self::Material,
        Self::Metal,
        Self::Part,
        Self::Recipe,
        Self::Sheet,
        Self::Supply,
        Self::Wire,
    ];

    /// The word at the head of the declaration.
    pub fn word(self) -> &'static str {
        match self {
            Self::Alloy => "alloy",
            Self::Batch => "batch",
            Self::Bench => "bench",
            Self::Controller => "controller",
            Self::Heater => "heater",
            Self::Let => "let",
            Self::Lot => "lot",
            Self::Material => "material",
            Self::Metal => "metal",
            Self::Part => "part",
            Self::Recipe => "recipe",
            Self::Sheet => "sheet",
            Self::Supply => "supply",
            Self::Wire => "wire",
        }
    }

    /// The word with its article, for messages.
    pub fn article(self) -> String {
        let article = if self == Self::Alloy { "an" } else { "a" };
        format!("{article} {}", self.word())
    }

    /// The kind that a word at the head of a declaration means.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// Whether a declaration of this kind can be a copy (`from`).
    pub fn can_be_copied(self) -> bool {
        !matches!(self, Self::Let | Self::Recipe | Self::Batch)
    }
}
