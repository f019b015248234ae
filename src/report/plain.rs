/// `text` on one line, without anything that a terminal would obey.
pub(super) fn plain(text: &str) -> String {
    text.chars().map(|c| if matches!(c, '\n' | '\r' | '\t') { ' ' } else { stand_in(c).unwrap_or(c) }).collect()
}

/// What is shown in place of a character that would move the cursor, start an escape sequence, break the line
/// or turn the direction of writing; always as many bytes long as the character itself, so that offsets hold.
pub(super) fn stand_in(c: char) -> Option<char> {
    let obeyed = c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}');
    obeyed.then_some(match c.len_utf8() {
        1 => '?',
        2 => '¿',
        _ => '\u{fffd}',
    })
}

#[cfg(test)]
mod tests {
    use super::{plain, stand_in};

    #[test]
    fn stand_ins_keep_the_length_and_need_none_themselves() {
        for c in '\0'..=char::MAX {
            if let Some(shown) = stand_in(c) {
                assert_eq!((shown.len_utf8(), stand_in(shown)), (c.len_utf8(), None), "{c:?}");
            }
        }
    }

    #[test]
    fn nothing_is_left_for_the_terminal_to_obey() {
        assert_eq!(plain("22 °C\r\n\x1b[31m\u{85}\u{2028}"), "22 °C  ?[31m¿\u{fffd}");
    }
}
