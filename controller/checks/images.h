/* What the checks share: bytes become an image that gets past the check sums, so that what lies behind them is tried. */
#ifndef WITHY_CHECKS_IMAGES_H
#define WITHY_CHECKS_IMAGES_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../src/run.h"

/* What must never be. */
static inline void must(bool holds, const char *what) {
    if (!holds) {
        fprintf(stderr, "broken: %s\n", what);
        abort();
    }
}

/* Memory of exactly so many bytes: a sanitizer sees the first byte that is read behind it. */
static inline uint8_t *exactly(const uint8_t *bytes, size_t count) {
    uint8_t *copy = malloc(count > 0u ? count : 1u);
    must(copy != NULL, "memory");
    if (count > 0u) {
        memcpy(copy, bytes, count);
    }
    return copy;
}

static inline void store(uint8_t *to, uint32_t value, uint8_t count) {
    for (; count > 0u; count--, to++, value >>= 8) {
        *to = (uint8_t)(value & 0xFFu);
    }
}

/* Where the tables of an image end, or 0 if they do not fit; fills in where they are. */
static inline size_t tables_of(const uint8_t *bytes, size_t length, wt_tables *tables) {
    size_t at = 43u + bytes[42];
    size_t size = 8u * bytes[34] + 5u * bytes[35] + 2u * bytes[36];
    if (at + size + 4u > length) {
        return 0;
    }
    tables->operators = bytes[33];
    tables->output_count = bytes[34];
    tables->input_count = bytes[35];
    tables->supply_count = bytes[36];
    tables->outputs = bytes + at;
    tables->inputs = tables->outputs + 8u * bytes[34];
    tables->supplies = tables->inputs + 5u * bytes[35];
    return at + size;
}

/* Repairs what any change breaks: magic, version, length, wiring and CRC. At least 47 bytes. */
static inline void repair(uint8_t *bytes, size_t length) {
    wt_tables tables;
    memcpy(bytes, "WTHY", 4);
    store(bytes + 4, 1, 2);
    store(bytes + 6, (uint32_t)length, 2);
    if (tables_of(bytes, length, &tables) != 0u) {
        store(bytes + 28, wt_tables_digest(&tables), 4);
    }
    store(bytes + length - 4, wt_crc32_end(wt_crc32_more(wt_crc32_start(), bytes, (uint16_t)(length - 4u))), 4);
}

#endif
