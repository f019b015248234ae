//! Frames on the line: RFC 1055 (SLIP), and a check sum.

use crate::program::crc::crc16;

const END: u8 = 0xC0;
const ESCAPE: u8 = 0xDB;
const ESCAPED_END: u8 = 0xDC;
const ESCAPED_ESCAPE: u8 = 0xDD;
/// Longer frames are no answer of a controller.
const LONGEST: usize = 256;

fn slip(bytes: &[u8]) -> Vec<u8> {
    let mut framed = vec![END];
    for byte in bytes {
        match *byte {
            END => framed.extend([ESCAPE, ESCAPED_END]),
            ESCAPE => framed.extend([ESCAPE, ESCAPED_ESCAPE]),
            other => framed.push(other),
        }
    }
    framed.push(END);
    framed
}

/// A message as it goes over the line.
pub fn frame(message: &[u8]) -> Vec<u8> {
    let mut bytes = message.to_vec();
    bytes.extend(crc16(message).to_le_bytes());
    slip(&bytes)
}

/// Takes frames apart, byte by byte.
#[derive(Clone, Debug, Default)]
pub struct Unframed {
    bytes: Vec<u8>,
    escaped: bool,
}

impl Unframed {
    /// A byte has come; gives a message once it is whole and its check sum is right.
    pub fn byte(&mut self, byte: u8) -> Option<Vec<u8>> {
        match byte {
            END => {
                self.escaped = false;
                let bytes = std::mem::take(&mut self.bytes);
                let (message, sum) = bytes.split_at_checked(bytes.len().checked_sub(2)?)?;
                (!message.is_empty() && crc16(message).to_le_bytes() == *sum).then(|| message.to_vec())
            }
            ESCAPE => {
                self.escaped = true;
                None
            }
            other => {
                let plain = match (std::mem::take(&mut self.escaped), other) {
                    (true, ESCAPED_END) => END,
                    (true, ESCAPED_ESCAPE) => ESCAPE,
                    _ => other,
                };
                if self.bytes.len() < LONGEST {
                    self.bytes.push(plain);
                }
                None
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Unframed, frame, slip};

    // RFC 1055: END 0300, ESC 0333, ESC_END 0334, ESC_ESC 0335 (octal).
    #[test]
    fn escapes_are_those_of_rfc_1055() {
        assert_eq!(slip(&[1, 0o300, 2, 0o333, 3]), [0o300, 1, 0o333, 0o334, 2, 0o333, 0o335, 3, 0o300]);
    }

    #[test]
    fn what_is_framed_comes_out_and_what_is_damaged_does_not() {
        let message = [7, 0xC0, 0xDB, 0xDC, 0];
        let framed = frame(&message);
        let read = |bytes: &[u8]| {
            let mut unframed = Unframed::default();
            bytes.iter().filter_map(|byte| unframed.byte(*byte)).collect::<Vec<_>>()
        };
        assert_eq!(read(&framed), vec![message.to_vec()]);
        for at in 1..framed.len() - 1 {
            let mut damaged = framed.clone();
            damaged[at] ^= 1;
            assert!(read(&damaged).is_empty(), "byte {at}");
        }
    }
}
