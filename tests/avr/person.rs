//! Somebody at the bench. What they do is found with the compiler's own interpreter, and written down, so that the
//! firmware can be shown the very same.

use withy::program::{Controller, Event, EventKind, InputRole, OutputRole, State};

use crate::build::Program;
use crate::host::{at_rest, mask, sensed};

/// What happened while a program ran in the compiler's own interpreter.
pub struct Story {
    /// From which tick on which contacts are closed that a person moves.
    pub contacts: Vec<(u32, u16)>,
    /// In which tick outputs changed, and to what.
    pub edges: Vec<(u32, u8)>,
    pub events: Vec<Event>,
    pub ticks: u32,
}

/// How the person is.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Manner {
    /// Swings each arm well in time.
    Attentive,
    /// Comes too late for the first bend.
    Late,
}

/// Runs a program until a part is done (or spoilt, if the person comes late), or for `most` ticks.
pub fn story(program: &Program, manner: Manner, most: u32) -> Story {
    let machine = &program.machine;
    let mut controller = Controller::new(machine.clone());
    controller.load(&program.image).unwrap();
    let rest = at_rest(machine);
    let lamp = mask(machine, OutputRole::Lamp);
    let bit = |role| machine.input(role).map_or(0, |input| 1u16 << input);
    let start = bit(InputRole::Start);
    let mut moved = rest;
    let mut due: Vec<(u32, u16, bool)> = Vec::new();
    let mut story = Story { contacts: vec![(0, rest)], edges: Vec::new(), events: Vec::new(), ticks: 0 };
    let mut outputs = 0;
    let (mut may_press, mut bent, mut ends) = (6000, false, None);
    while story.ticks < most && ends.is_none_or(|end| story.ticks < end) {
        let tick = story.ticks;
        // Whoever runs the bench waits a moment at each thing, as people do.
        if outputs & lamp != 0 && tick >= may_press && controller.state() != State::Fault {
            due.extend([(tick + 300, start, true), (tick + 380, start, false)]);
            may_press = tick + 1500;
        }
        for (_, contacts, active) in due.iter().filter(|(when, ..)| *when == tick) {
            let closed = if *active { !rest & contacts } else { rest & contacts };
            moved = moved & !contacts | closed;
        }
        if story.contacts.last().is_none_or(|(_, last)| *last != moved) {
            story.contacts.push((tick, moved));
        }
        let mut contacts = moved;
        for (index, input) in machine.inputs.iter().enumerate() {
            if sensed(machine, input.role).is_some_and(|mask| outputs & mask == mask) {
                contacts |= 1 << index;
            }
        }
        let now = controller.tick(tick, contacts);
        if now != outputs {
            outputs = now;
            story.edges.push((tick, outputs));
        }
        for event in controller.take_events() {
            match event.kind {
                EventKind::Off if manner == Manner::Attentive && !warms_up(&event) => {
                    let of = u8::try_from(event.detail).unwrap();
                    // The arm leaves home, and arrives; `home` is at rest when it is closed.
                    due.push((tick + 400, bit(InputRole::Home(of)), true));
                    due.push((tick + 900, bit(InputRole::Down(of)), true));
                }
                EventKind::Met => bent = true,
                EventKind::Call if bent => {
                    bent = false;
                    for of in 0..8 {
                        due.push((tick + 700, bit(InputRole::Down(of)), false));
                        due.push((tick + 1200, bit(InputRole::Home(of)), false));
                    }
                    may_press = tick + 3000;
                }
                EventKind::Good | EventKind::Scrap => ends = Some(tick + 4000),
                _ => {}
            }
            story.events.push(event);
        }
        story.ticks += 1;
    }
    story
}

/// Whether a heater goes off that has only been warmed up: it does so outside the rows of the step table.
fn warms_up(event: &Event) -> bool {
    event.step == 0
}
