//! The reference page is what the compiler's tables say.

use std::fs::read_to_string;

use crate::common::root;

#[test]
fn the_reference_page_is_in_step() {
    let path = root().join("grammar/reference.md");
    let fresh = withy::library::reference();
    assert!(read_to_string(path).unwrap() == fresh, "run `withy reference > grammar/reference.md`");
}

#[test]
fn every_picture_of_the_reference_page_is_there() {
    let page = withy::library::reference();
    let pictures: Vec<&str> = page.split("](").skip(1).filter_map(|rest| rest.split(')').next()).collect();
    assert!(pictures.len() >= 3, "{pictures:?}");
    for picture in pictures {
        let text = read_to_string(root().join("grammar").join(picture)).unwrap();
        assert!(text.starts_with("<svg") && text.contains("<title>"), "{picture}");
    }
}
