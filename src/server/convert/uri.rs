use std::path::{Path, PathBuf};
use std::str::FromStr;

use lsp_types::Uri;
use url::Url;

use crate::library::plain;

/// The path of a file; a text without a file (`untitled:…`) gets one in `folder` that no file has.
pub fn path_of(uri: &Uri, folder: &Path) -> PathBuf {
    let parsed = Url::parse(uri.as_str()).ok();
    if let Some(path) = parsed.as_ref().filter(|url| url.scheme() == "file").and_then(|url| url.to_file_path().ok()) {
        return plain(&path);
    }
    let name: String = uri.as_str().chars().map(|c| if c.is_alphanumeric() { c } else { '_' }).collect();
    folder.join(format!("{name}.withy"))
}

/// The URI of a file.
pub fn uri_of(path: &Path) -> Option<Uri> {
    Uri::from_str(Url::from_file_path(path).ok()?.as_str()).ok()
}

#[cfg(test)]
mod tests {
    use std::path::Path;
    use std::str::FromStr;

    use lsp_types::Uri;

    use super::{path_of, uri_of};

    fn path(uri: &str) -> String {
        path_of(&Uri::from_str(uri).unwrap(), Path::new("/shop")).display().to_string()
    }

    #[cfg(unix)]
    #[test]
    fn paths_and_uris_lead_to_each_other() {
        for plain in ["/shop/parts/a b.withy", "/shop/µ/100 %.withy", "/shop/a#b?c.withy"] {
            let uri = uri_of(Path::new(plain)).unwrap();
            assert_eq!(path(uri.as_str()), plain);
        }
        // Clients encode more than they must.
        assert_eq!(path("file:///shop/%70arts/%C2%B5%2Fa.withy"), "/shop/parts/µ/a.withy");
        assert_eq!(path("file:///shop/x/../a.withy"), "/shop/a.withy");
    }

    #[test]
    fn a_text_without_a_file_lies_nowhere_else() {
        assert_eq!(path("untitled:Untitled-1"), "/shop/untitled_Untitled_1.withy");
    }
}
