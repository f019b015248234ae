use crate::text::{ChangedLines, FileId, Follows, Span};

/// One finding: what is wrong, where, by which figures, and what to do.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagnostic {
    /// What kind of finding this is: an error or a rule.
    pub subject: Subject,
    /// One sentence in the reader's words.
    pub headline: String,
    /// The places that matter; the primary one first.
    pub labels: Vec<Label>,
    /// The computed figures and their limits.
    pub figures: Vec<Figure>,
    /// What else to know; each a sentence.
    pub notes: Vec<String>,
    /// What to do where no mechanical edit exists; each a sentence.
    pub helps: Vec<String>,
    /// Mechanical mends.
    pub edits: Vec<Edit>,
    /// Set when the source accepts the finding with a reason.
    pub accepted: Option<Acceptance>,
    /// Set when a baseline knows the finding.
    pub known: bool,
}

/// An error has a stable kebab-case name and cannot be accepted; a rule has a name and a class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Subject {
    /// A fault of syntax, names, types or input.
    Error(&'static str),
    /// A finding of a lint rule.
    Rule(&'static str, Class),
}

impl Subject {
    /// The class of a rule; none for an error.
    pub fn class(self) -> Option<Class> {
        match self {
            Self::Error(_) => None,
            Self::Rule(_, class) => Some(class),
        }
    }

    /// The signal word of the class, or `error`.
    pub fn word(self) -> &'static str {
        self.class().map_or("error", Class::word)
    }

    /// The stable name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Error(name) | Self::Rule(name, _) => name,
        }
    }
}

/// The signal words of ANSI Z535 / ISO 3864 by what can happen; the worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Class {
    /// Fire or shock likely to hurt someone; cannot be accepted.
    Danger,
    /// Could hurt someone.
    Warning,
    /// Minor injury, damage to bench or supply.
    Caution,
    /// Bad or inconsistent parts, lost time.
    Notice,
    /// Style.
    Hint,
}

impl Class {
    /// All classes, the worst first.
    pub const ALL: [Self; 5] = [Self::Danger, Self::Warning, Self::Caution, Self::Notice, Self::Hint];

    /// The signal word in lower case.
    pub fn word(self) -> &'static str {
        match self {
            Self::Danger => "danger",
            Self::Warning => "warning",
            Self::Caution => "caution",
            Self::Notice => "notice",
            Self::Hint => "hint",
        }
    }
}

/// A place with what is said about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// The bytes meant.
    pub span: Span,
    /// A short remark; may be empty for the primary place.
    pub text: String,
    /// Whether this is the place of the fault itself.
    pub primary: bool,
}

/// A computed value with its bounds and, where there is one, the limit it is held against.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// What the figure is, in words.
    pub name: String,
    /// Nominal value, in `unit`.
    pub value: f64,
    /// Lowest value over what is known, in `unit`.
    pub low: f64,
    /// Highest value over what is known, in `unit`.
    pub high: f64,
    /// A unit as it is written in the language.
    pub unit: String,
    /// The limit, in `unit`.
    pub limit: Option<f64>,
    /// Where the limit comes from.
    pub limit_source: Option<String>,
}

/// A mend that a machine can make.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Edit {
    /// What the edit does, in the imperative.
    pub title: String,
    /// Whether it changes a time, a power, a temperature or a current; then it is only made when asked for by name.
    pub changes_control: bool,
    /// Replacements that do not overlap.
    pub changes: Vec<Change>,
}

/// The text at `span` becomes `text`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Change {
    /// What is replaced; an empty span inserts.
    pub span: Span,
    /// The new text.
    pub text: String,
}

/// Why a finding is accepted, and how long.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Acceptance {
    /// The author's reason.
    pub because: String,
    /// ISO 8601 date after which the acceptance is stale.
    pub until: Option<String>,
}

impl Acceptance {
    /// The reason, with the date if there is one.
    pub fn sentence(&self) -> String {
        let until = self.until.as_deref().map(|date| format!(" (until {date})")).unwrap_or_default();
        format!("{}{until}", self.because)
    }
}

impl Diagnostic {
    /// An error called `name` at `span`.
    pub fn error(name: &'static str, span: Span, headline: impl Into<String>) -> Self {
        Self::new(Subject::Error(name), span, headline)
    }

    /// A finding of the rule `name` at `span`.
    pub fn rule(name: &'static str, class: Class, span: Span, headline: impl Into<String>) -> Self {
        Self::new(Subject::Rule(name, class), span, headline)
    }

    fn new(subject: Subject, span: Span, headline: impl Into<String>) -> Self {
        Self {
            subject,
            headline: headline.into(),
            labels: vec![Label { span, text: String::new(), primary: true }],
            figures: Vec::new(),
            notes: Vec::new(),
            helps: Vec::new(),
            edits: Vec::new(),
            accepted: None,
            known: false,
        }
    }

    /// Says something at the primary place.
    #[must_use]
    pub fn here(mut self, text: impl Into<String>) -> Self {
        self.labels[0].text = text.into();
        self
    }

    /// Adds another place.
    #[must_use]
    pub fn also(mut self, span: Span, text: impl Into<String>) -> Self {
        self.labels.push(Label { span, text: text.into(), primary: false });
        self
    }

    /// Adds a sentence of background.
    #[must_use]
    pub fn note(mut self, text: impl Into<String>) -> Self {
        self.notes.push(text.into());
        self
    }

    /// Adds a sentence that says what to do.
    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.helps.push(text.into());
        self
    }

    /// Adds a figure.
    #[must_use]
    pub fn figure(mut self, figure: Figure) -> Self {
        self.figures.push(figure);
        self
    }

    /// Adds a mend that replaces one place and leaves times, powers, temperatures and currents alone.
    #[must_use]
    pub fn edit(mut self, title: impl Into<String>, span: Span, text: impl Into<String>) -> Self {
        let changes = vec![Change { span, text: text.into() }];
        self.edits.push(Edit { title: title.into(), changes_control: false, changes });
        self
    }

    /// Adds a mend that changes a control (a time, a power, a temperature or a current).
    #[must_use]
    pub fn control_edit(mut self, title: impl Into<String>, span: Span, text: impl Into<String>) -> Self {
        let changes = vec![Change { span, text: text.into() }];
        self.edits.push(Edit { title: title.into(), changes_control: true, changes });
        self
    }

    /// The place of the fault itself.
    pub fn primary(&self) -> Span {
        self.labels[0].span
    }

    /// Every place that it names, edits included.
    pub fn spans(&mut self) -> impl Iterator<Item = &mut Span> {
        let changes = self.edits.iter_mut().flat_map(|edit| &mut edit.changes);
        self.labels.iter_mut().map(|label| &mut label.span).chain(changes.map(|change| &mut change.span))
    }

    /// Whether somebody has to do something about it: nobody accepts it, and no baseline knows it.
    pub fn is_open(&self) -> bool {
        self.accepted.is_none() && !self.known
    }

    /// Whether this is an error rather than a rule's finding.
    pub fn is_error(&self) -> bool {
        matches!(self.subject, Subject::Error(_))
    }

    /// The class a rule's finding has; none for an error.
    pub fn class(&self) -> Option<Class> {
        self.subject.class()
    }

    /// The signal word of the class, or `error`.
    pub fn word(&self) -> &'static str {
        self.subject.word()
    }

    /// The stable name of the error or the rule.
    pub fn name(&self) -> &'static str {
        self.subject.name()
    }
}

impl Follows for Diagnostic {
    fn follow(&mut self, file: FileId, lines: &ChangedLines) -> bool {
        self.spans().all(|span| span.follow(file, lines))
    }
}

impl Follows for Edit {
    fn follow(&mut self, file: FileId, lines: &ChangedLines) -> bool {
        self.changes.iter_mut().all(|change| change.span.follow(file, lines))
    }
}
