//! The image as Intel HEX, from address 0.

use ihex::{Record, create_object_file_representation};

/// Bytes in a record, as most programmers expect.
const LINE: usize = 16;

/// Records of 16 bytes, and the end; none if the image is too large for 16-bit addresses.
pub fn intel_hex(image: &[u8]) -> Option<String> {
    let mut records = Vec::new();
    for (index, line) in image.chunks(LINE).enumerate() {
        records.push(Record::Data { offset: u16::try_from(index * LINE).ok()?, value: line.to_vec() });
    }
    records.push(Record::EndOfFile);
    create_object_file_representation(&records).ok()
}

#[cfg(test)]
mod tests {
    use ihex::Record;

    use super::intel_hex;

    // The example of the wikipedia page on Intel HEX, as it is printed in many manuals: sixteen bytes at 0x0100 there,
    // here at 0, with the sum worked out by hand from the rule of the format (two's complement of all bytes' sum).
    #[test]
    fn a_record_has_its_count_address_kind_and_sum() {
        let bytes = [0x21, 0x46, 0x01, 0x36, 0x01, 0x21, 0x47, 0x01, 0x36, 0x00, 0x7E, 0xFE, 0x09, 0xD2, 0x19, 0x01];
        let text = intel_hex(&bytes).unwrap();
        assert_eq!(text, ":10000000214601360121470136007EFE09D2190141\n:00000001FF\n");
        // As it is printed there, the reader takes it for the same bytes.
        let printed = Record::from_record_string(":10010000214601360121470136007EFE09D2190140");
        assert_eq!(printed, Ok(Record::Data { offset: 0x0100, value: bytes.to_vec() }));
    }
}
