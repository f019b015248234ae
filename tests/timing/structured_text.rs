//! The Structured Text of the examples, read by an independent parser and run scan by scan beside the interpreter.
//!
//! Needs a Python with `blark`: see `tests/support/python.rs`. Reading takes seconds for each text, so the short run reads
//! the two that it runs, and all tests of this file share what one Python has found.

use std::collections::BTreeMap;
use std::process::Command;
use std::sync::OnceLock;

use serde_json::{Value, json};
use withy::library::{Compiled, compile};
use withy::program::{Controller, EventKind, FaultCode, InputRole, Machine, Output, State, bench_number, verify};

use crate::common::{checked, deep, examples, memory};
use crate::examples::compiled;
use crate::python::python;
use crate::timing::{Person, bytes, text};

/// What the north bench's controller allows, 0.1 s.
const LIMIT: u16 = 3000;
/// What the south bench's allows.
const SOUTH_LIMIT: u16 = 2400;

/// Between two scans, ms.
fn scan() -> u64 {
    if deep() { 5 } else { 10 }
}

/// Examples that the long run adds as they are: two arms at once, and one current input for a whole supply.
const MORE: [&str; 2] = ["riser_run", "instruction_holder_run"];

/// What is run beside the interpreter: two that are changed, and in the long run more.
fn all() -> BTreeMap<String, &'static Compiled> {
    let changed = changed().iter().map(|(name, one)| (name.clone(), one));
    let examples = if deep() { compiled() } else { &[] };
    let examples = examples.iter().filter(|one| MORE.contains(&one.name.as_str()));
    changed.chain(examples.map(|one| (format!("example {}", one.name), one))).collect()
}

/// A recipe and a batch of the examples on the north bench, with a guard, and with no home input at the left arm.
fn changed() -> &'static BTreeMap<String, Compiled> {
    static CHANGED: OnceLock<BTreeMap<String, Compiled>> = OnceLock::new();
    CHANGED.get_or_init(|| {
        let mut files = examples();
        let bench = files.get_mut("bench/north.withy").unwrap();
        assert!(bench.contains("  input 4 home left\n"));
        *bench = bench.replace("  input 4 home left\n", "  input 9 guard\n");
        let names = ["recipes/light_table.withy", "recipes/field_lab.withy"];
        let (loaded, checked) = checked(&memory(&files), &names);
        let (compiled, refused) = compile(&loaded, &checked, 110);
        assert_eq!(refused, []);
        compiled.into_iter().map(|one| (one.name.clone(), one)).collect()
    })
}

/// The wiring of a program, with the controller's own limits.
fn machine(one: &Compiled) -> Machine {
    let mut machine = verify(bytes(one, "program.wtp"), None).unwrap().layout.machine;
    let limit = if machine.bench == bench_number("south") { SOUTH_LIMIT } else { LIMIT };
    for output in machine.outputs.iter_mut().filter(|output| output.longest > 0) {
        output.longest = limit;
    }
    machine
}

fn told(machine: &Machine) -> Value {
    let inputs = machine.inputs.iter().map(|input| {
        let role = match input.role {
            InputRole::Start => "start",
            InputRole::Stop => "stop",
            InputRole::Down(_) => "down",
            InputRole::Home(_) => "home",
            InputRole::Row => "row",
            InputRole::Guard => "guard",
            InputRole::HeaterCurrent(_) | InputRole::SupplyCurrent(_) => input.role.word(),
        };
        json!({"role": role, "of": input.role.subject(), "closed": input.normally_closed})
    });
    let outputs = machine
        .outputs
        .iter()
        .map(|output: &Output| json!({"role": output.role.word(), "supply": output.supply, "draw": output.draw}));
    json!({
        "inputs": inputs.collect::<Vec<_>>(),
        "outputs": outputs.collect::<Vec<_>>(),
        "supplies": machine.supplies,
        "operators": machine.operators,
    })
}

/// How the person works: the first bend of the recipe is missed, and its arm stays down for longer than it must.
fn script(name: &str) -> (Vec<usize>, Vec<u32>) {
    if name == "light_table_run" { (vec![1], vec![5_000, 170_000]) } else { (vec![], vec![5_000]) }
}

/// The row of heat times that is chosen.
const ROW: u32 = 2;

/// Good parts of each lane.
fn parts(name: &str) -> u16 {
    if deep() && !name.starts_with("example") { 3 } else { 1 }
}

fn runs() -> Value {
    let work = |name: &str| {
        let (missed, holds) = script(name);
        json!({"text": name, "what": "works", "step": scan(), "parts": parts(name), "within": 14_400, "missed": missed,
               "holds": holds, "chosen": ROW})
    };
    let danger = |contact: &str, active: bool| json!({"text": "field_lab", "what": "danger", "step": scan(), "contact": [contact, active], "holds": [5000]});
    let lab = |what: &str, more: Value| {
        let mut run = json!({"text": "field_lab", "what": what, "step": scan(), "within": 3600, "holds": [5000]});
        run.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        run
    };
    let mut runs = json!({
        // The supply gives enough for one lane only.
        "narrow": lab("heats", json!({"parts": 3, "changed": {"W_TheDesk/W_Gives/0": 1500}})),
        "stop": danger("stop", true),
        "guard": danger("guard", false),
        "down": danger("down", true),
        "held": lab("held", json!({})),
        // A lane that keeps its heater on for longer than it may be.
        "limit": lab("trips", json!({"changed": {"W_L0/W_UntilOf/1": 400_000}})),
        // A switch that has failed closed.
        "welded": lab("trips", json!({"changed": {"W_L0/W_UntilOf/1": 5_000}, "welded": 0})),
        "guards": lab("guards", json!({"limit": u32::from(LIMIT) * 100})),
        "desks": lab("desks", json!({})),
    });
    for name in all().keys() {
        runs[name] = work(name);
    }
    runs
}

/// What Python says; none where there is no such Python.
fn answers() -> Option<&'static Value> {
    static ANSWERS: OnceLock<Option<Result<Value, String>>> = OnceLock::new();
    let answer = ANSWERS.get_or_init(|| python("blark").map(|python| ask(&python))).as_ref()?;
    Some(answer.as_ref().unwrap_or_else(|fault| panic!("{fault}")))
}

fn ask(python: &str) -> Result<Value, String> {
    let folder = tempfile::tempdir().unwrap();
    let all = all();
    let texts: BTreeMap<&str, &str> = all.iter().map(|(name, one)| (name.as_str(), text(one, "program.st"))).collect();
    let sound = texts["field_lab"];
    let worse = [("END_CASE;", "END_CAS;"), ("W_Row := W_Next;", "W_Row := W_Next + ;"), ("THEN", "THE")];
    let damaged: Vec<String> = worse
        .iter()
        .map(|(from, to)| {
            // The piece alone in which the damage is: it shows as well as in the whole.
            let pieces: Vec<&str> = sound.split_inclusive("END_FUNCTION_BLOCK\n").collect();
            pieces.iter().find(|piece| piece.contains(from)).unwrap().replacen(from, to, 1)
        })
        .collect();
    let machines: BTreeMap<&str, Value> = all.iter().map(|(name, one)| (name.as_str(), told(&machine(one)))).collect();
    let asked = json!({"texts": texts, "damaged": damaged, "machines": machines, "runs": runs()});
    let file = folder.path().join("asked.json");
    std::fs::write(&file, asked.to_string()).unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/timing/bench.py");
    let output = Command::new(python).arg("-B").arg(script).arg(&file).output().unwrap();
    if !output.status.success() {
        return Err(String::from_utf8_lossy(&output.stderr).into_owned());
    }
    Ok(serde_json::from_slice(&output.stdout).unwrap())
}

/// All names and types of the texts fit together, or there would be no answer; and a damaged text is refused.
#[test]
fn structured_text_parses_elsewhere() {
    let Some(answers) = answers() else { return };
    let damaged = answers["damaged"].as_array().unwrap();
    assert!(damaged.len() == 3 && damaged.iter().all(|faults| !faults.as_array().unwrap().is_empty()), "{damaged:?}");
}

/// What a lane did: when, and what.
type Done = (u64, u64, String, u64, u64);

fn done(answers: &Value, run: &str) -> Vec<Done> {
    let number = |value: &Value| value.as_u64().unwrap();
    let events = answers["runs"][run]["events"].as_array().unwrap();
    let read = |event: &Value| {
        (
            number(&event[0]),
            number(&event[1]),
            event[2].as_str().unwrap().to_owned(),
            number(&event[3]),
            number(&event[4]),
        )
    };
    events.iter().map(read).collect()
}

/// The same by the interpreter, with the same person; a tick each millisecond.
fn interpreted(name: &str, one: &Compiled) -> Vec<Done> {
    let parts = parts(name);
    let (machine, image) = (machine(one), bytes(one, "program.wtp"));
    let lanes = verify(image, None).unwrap().layout.lanes.len();
    let tables = verify(image, None).unwrap().layout.rows() > 0;
    let mut controller = Controller::new(machine.clone());
    controller.load(image).unwrap();
    let button = machine.input(InputRole::Row).unwrap();
    let mut person = Person::new(machine);
    let (missed, holds) = script(name);
    let (mut outputs, mut all, mut chosen, mut offs) = (0, Vec::new(), 0, 0);
    let mut good = vec![0; lanes];
    for now in 1..14_400_000 {
        let mut contacts = person.contacts(now, outputs);
        if tables && controller.state() == State::Idle && chosen < 200 * ROW {
            chosen += 1;
            person.pressed_until = now;
            contacts = person.contacts(now, 0) | (u16::from(chosen % 200 >= 100) << button);
        }
        outputs = controller.tick(now, contacts);
        for event in controller.take_events() {
            let lane = u64::from(event.lane);
            let (high, low) = (u64::from(event.detail >> 8), u64::from(event.detail & 0xff));
            let detail = u64::from(event.detail);
            let mut note = |kind: &str, one: u64, other: u64| {
                all.push((u64::from(now), lane, kind.to_owned(), one, other));
            };
            match event.kind {
                EventKind::Begin => note("begin", detail, 0),
                EventKind::On => note("on", high, low),
                EventKind::Off => {
                    note("off", detail, u64::from(controller.heat_sum(usize::from(event.detail))));
                    if !missed.contains(&offs) {
                        let hold = *holds.get(offs).or(holds.last()).unwrap();
                        person.swing(now, event.detail, hold);
                    }
                    offs += 1;
                }
                EventKind::Good => {
                    note("good", detail, 0);
                    good[usize::from(event.lane)] = event.detail;
                }
                EventKind::Scrap => note("scrap", detail, 0),
                EventKind::Fault => panic!("{event:?}"),
                _ => {}
            }
        }
        if good.iter().all(|good| *good >= parts) {
            return all;
        }
    }
    panic!("after four hours: {:?}", all.last());
}

/// The same heats, in the same order, for as long, and as much heat in the last minutes.
#[test]
fn structured_text_heats_as_the_interpreter_does() {
    let Some(answers) = answers() else { return };
    for (name, one) in all() {
        let (texts, ours) = (done(answers, &name), interpreted(&name, one));
        let begins =
            |all: &[Done]| -> Vec<u64> { all.iter().filter(|event| event.2 == "begin").map(|event| event.1).collect() };
        assert_eq!(begins(&texts), begins(&ours), "{name}");
        let lanes = ours.iter().map(|event| event.1).max().unwrap() + 1;
        for lane in 0..lanes {
            // What happens at once has no order.
            let of = |all: &[Done]| -> Vec<Done> {
                let mut own: Vec<Done> = all.iter().filter(|event| event.1 == lane).cloned().collect();
                own.sort_by_key(|event| (event.0, event.2 == "on", event.3));
                own
            };
            let (texts, ours) = (of(&texts), of(&ours));
            assert!(ours.iter().filter(|event| event.2 == "off").count() >= 2, "{name}: {ours:?}");
            let what = |all: &[Done]| -> Vec<(String, u64, u64)> {
                let level = |event: &Done| if event.2 == "off" { 0 } else { event.4 };
                all.iter().map(|event| (event.2.clone(), event.3, level(event))).collect()
            };
            assert_eq!(what(&texts), what(&ours), "{name} lane {lane}");
            for (text, own) in texts.windows(2).zip(ours.windows(2)) {
                let (text_lasts, own_lasts) = (text[1].0 - text[0].0, own[1].0 - own[0].0);
                let heats = text[0].2 == "on";
                // A heat is longer by up to a scan. A person, contacts and the rows between two heats take a few more.
                let (shorter, longer) = if heats { (0, scan()) } else { (10 * scan(), 20 * scan()) };
                let fits = (own_lasts.saturating_sub(shorter)..=own_lasts + longer).contains(&text_lasts);
                assert!(fits, "{name} lane {lane}: {text:?} lasts {text_lasts}, {own:?} {own_lasts}");
                let (text_sum, own_sum) = (text[1].4, own[1].4);
                let sums = text[1].2 != "off" || text_sum.abs_diff(own_sum) <= 255 * 20 * scan();
                assert!(sums, "{name} lane {lane}: {text:?}, {own:?}");
            }
        }
    }
    let scrap = done(answers, "light_table_run").into_iter().filter(|event| event.2 == "scrap").count();
    assert_eq!(scrap, 1, "a missed bend spoils the part");
}

/// Part power is lit for its share of the time.
#[test]
fn structured_text_spreads_part_power() {
    let Some(answers) = answers() else { return };
    let mut parts = 0;
    for lit in answers["runs"]["field_lab"]["lit"].as_array().unwrap() {
        let number = |at: usize| lit[at].as_f64().unwrap();
        let (level, share) = (number(1) / 255.0, number(2) / number(3));
        assert!((level - share).abs() < 0.015, "{lit}");
        parts += u32::from(level < 1.0);
    }
    assert!(parts > 0, "no heater had part power");
}

#[test]
fn structured_text_shares_a_supply() {
    let Some(answers) = answers() else { return };
    let most = |run: &str| answers["runs"][run]["most"][0].as_u64().unwrap();
    assert!(most("field_lab") > 1500, "the lanes never heated side by side");
    assert!(most("narrow") > 0 && most("narrow") <= 1500);
}

/// That all is off within a scan, and stays so until three presses, is held by the Python; here, why.
#[test]
fn structured_text_goes_off_and_stays_off() {
    let Some(answers) = answers() else { return };
    let reasons = [
        ("stop", FaultCode::Stop),
        ("guard", FaultCode::GuardOpen),
        ("down", FaultCode::ArmSwitch),
        ("held", FaultCode::MissedTicks),
        ("limit", FaultCode::HeatLimit),
        ("welded", FaultCode::SwitchFailed),
    ];
    for (run, reason) in reasons {
        assert_eq!(answers["runs"][run]["reason"], reason.number(), "{run}");
    }
    let at = |run: &str, kind: &str| done(answers, run).into_iter().find(|event| event.2 == kind).unwrap().0;
    let on = at("limit", "fault") - at("limit", "on");
    let limit = u64::from(LIMIT) * 100;
    assert!((limit + 1..=limit + scan()).contains(&on), "on for {on} ms");
    let flows = at("welded", "fault") - at("welded", "off");
    assert!((1500..=2000).contains(&flows), "current flowed for {flows} ms");
}
