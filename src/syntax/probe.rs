#[cfg(test)]
mod tests {
    #[test]
    fn probe() {
        for path in std::env::var("PROBE").unwrap_or_default().split(':').filter(|p| !p.is_empty()) {
            let text = std::fs::read_to_string(path).unwrap();
            let parsed = crate::syntax::parse(crate::text::FileId(0), &text);
            println!("{path}: {} entries", parsed.tree.entries.len());
            for f in &parsed.faults {
                println!("  {:?} {} | {} | {:?}", f.primary().range(), f.name(), f.headline, f.labels[0].text);
            }
            if std::env::var("TREE").is_ok() {
                println!("{:#?}", parsed.tree);
            }
        }
    }
}
