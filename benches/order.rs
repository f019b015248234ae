//! How fast the order of ten bends is found, for a part that can be made at once, one that needs a search, and one that
//! cannot be made at all, where every way has to be looked at. Prints the best of several runs.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use withy::library::{Depth, Memory, Places, Plan, check, load};
use withy::model::{Direction, Recipe};
use withy::plan::{Outline, blank, choose};

const FILES: [(&str, &str); 6] = [
    ("stock/acrylic.withy", include_str!("../examples/stock/acrylic.withy")),
    ("stock/own.withy", include_str!("../examples/stock/own.withy")),
    ("stock/sorted.withy", include_str!("../examples/stock/sorted.withy")),
    ("bench/west.withy", include_str!("../examples/bench/west.withy")),
    ("parts/step_stand.withy", include_str!("../examples/parts/step_stand.withy")),
    ("recipes/step_stand.withy", include_str!("../examples/recipes/step_stand.withy")),
];
const BENDS: usize = 10;

fn main() {
    // A bench that measures nothing must not look as if it had.
    let Some(template) = template() else {
        eprintln!("the example has no plan");
        std::process::exit(1);
    };
    let ups = part(&template, 0.09, |_| Direction::Up, 20.0);
    let zigzag = part(&template, 0.06, |bend| if bend % 2 == 0 { Direction::Up } else { Direction::Down }, 60.0);
    let hat = part(&template, 0.06, |bend| if matches!(bend, 2..=7) { Direction::Up } else { Direction::Down }, 60.0);
    let comb = part(&template, 0.03, |bend| if bend % 4 < 2 { Direction::Up } else { Direction::Down }, 90.0);
    for (name, recipe) in [("all up", ups), ("zigzag", zigzag), ("hat", hat), ("comb of 30 mm", comb)] {
        let radii = vec![0.004; BENDS];
        let Ok(blank) = blank(&recipe.part, &radii) else { continue };
        let swings: Vec<f64> = recipe.part.bends.iter().map(|bend| bend.angle.value).collect();
        let outline = Outline::new(&recipe, &blank, &swings);
        let found = choose(&outline);
        let time = best(5, || choose(&outline).is_ok());
        let what = match found {
            Ok(best) => format!("{:?}", best.counts),
            Err(_) => "no order".to_owned(),
        };
        println!("{name:<16} {:>9.1} ms   {what}", time.as_secs_f64() * 1e3);
    }
}

fn template() -> Option<Recipe> {
    let io = Memory::new(FILES.map(|(name, text)| (PathBuf::from("/library").join(name), text.as_bytes().to_vec())));
    let places = Places { root: PathBuf::from("/library"), shown_from: PathBuf::from("/library") };
    let (loaded, _) = load(&io, &places, &[PathBuf::from("/library/recipes/step_stand.withy")], None);
    check(&loaded, Depth::Full, None).made.into_iter().find_map(|made| match made.plan {
        Some(Plan::Recipe(plan)) => Some(plan.recipe),
        _ => None,
    })
}

/// The template with ten bends.
fn part(template: &Recipe, leg: f64, direction: impl Fn(usize) -> Direction, degrees: f64) -> Recipe {
    let mut recipe = template.clone();
    let part = &mut recipe.part;
    let (bend, side) = (part.bends[0].clone(), part.legs[0].clone());
    let settings = recipe.bends[0].clone();
    part.bends = vec![bend; BENDS];
    part.legs = vec![side; BENDS + 1];
    recipe.bends = vec![settings; BENDS];
    for (index, bend) in part.bends.iter_mut().enumerate() {
        bend.direction = direction(index);
        bend.angle.value = degrees.to_radians();
    }
    for leg_of in &mut part.legs {
        leg_of.length.value = leg;
    }
    for settings in &mut recipe.bends {
        settings.fence = None;
    }
    recipe
}

fn best<T>(runs: usize, mut work: impl FnMut() -> T) -> Duration {
    let once = |_| {
        let start = Instant::now();
        std::hint::black_box(work());
        start.elapsed()
    };
    (0..runs).map(once).min().unwrap_or_default()
}
