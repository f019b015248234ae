//! What ships with the compiler: materials, alloys and metals, written in the language itself.

/// The files of the catalogue: name and text.
pub const FILES: [(&str, &str); 3] = [
    ("catalogue/materials.withy", include_str!("materials.withy")),
    ("catalogue/alloys.withy", include_str!("alloys.withy")),
    ("catalogue/metals.withy", include_str!("metals.withy")),
];
