//! Compiles the generated parser and the scanner beside it.

fn main() {
    let source = std::path::Path::new("src");
    let mut build = cc::Build::new();
    build.std("c11").include(source);
    for name in ["parser.c", "scanner.c"] {
        build.file(source.join(name));
        println!("cargo:rerun-if-changed=src/{name}");
    }
    println!("cargo:rerun-if-changed=src/words.h");
    build.compile("tree-sitter-withy");
}
