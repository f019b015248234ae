//! The two check sums, by their names in the catalogue of parametrised CRC algorithms.

use crc::{CRC_16_IBM_3740, CRC_32_ISO_HDLC, Crc, Digest};

static IMAGE: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);
static FRAME: Crc<u16> = Crc::<u16>::new(&CRC_16_IBM_3740);

/// CRC-32/ISO-HDLC, which closes an image.
pub fn crc32(bytes: &[u8]) -> u32 {
    IMAGE.checksum(bytes)
}

/// The same, piece by piece.
pub fn crc32_digest() -> Digest<'static, u32> {
    IMAGE.digest()
}

/// CRC-16/IBM-3740, which closes a frame on the serial line.
pub fn crc16(bytes: &[u8]) -> u16 {
    FRAME.checksum(bytes)
}

#[cfg(test)]
mod tests {
    use super::{crc16, crc32};

    // Check values over "123456789" as published in the catalogue of parametrised CRC algorithms.
    #[test]
    fn published_check_values() {
        assert_eq!(crc32(b"123456789"), 0xCBF4_3926);
        assert_eq!(crc16(b"123456789"), 0x29B1);
    }
}
