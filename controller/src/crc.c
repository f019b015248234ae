/* Check sums, bit by bit: small rather than fast. */
#include "image.h"

/* CRC-32/ISO-HDLC */
uint32_t wt_crc32_start(void) {
    return 0xFFFFFFFFu;
}

uint32_t wt_crc32_more(uint32_t crc, const uint8_t *bytes, uint16_t count) {
    uint16_t at;
    uint8_t bit;
    for (at = 0; at < count; at++) {
        crc ^= wt_u8(bytes + at);
        for (bit = 0; bit < 8; bit++) {
            bool odd = (crc & 1u) != 0u;
            crc >>= 1;
            if (odd) {
                crc ^= 0xEDB88320u;
            }
        }
    }
    return crc;
}

uint32_t wt_crc32_end(uint32_t crc) {
    return ~crc;
}

/* CRC-16/IBM-3740 */
uint16_t wt_crc16_start(void) {
    return 0xFFFFu;
}

uint16_t wt_crc16_more(uint16_t crc, uint8_t byte) {
    uint8_t bit;
    crc = (uint16_t)(crc ^ (uint16_t)((uint16_t)byte << 8));
    for (bit = 0; bit < 8; bit++) {
        crc = (crc & 0x8000u) != 0u ? (uint16_t)((uint16_t)(crc << 1) ^ 0x1021u) : (uint16_t)(crc << 1);
    }
    return crc;
}
