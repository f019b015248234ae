/* Two slots in memory, for checks of the loader. Power can go while a byte is being written; what that byte is then,
   nobody knows, so that the check says it. */
#ifndef WITHY_CHECKS_SLOTS_H
#define WITHY_CHECKS_SLOTS_H

#include <setjmp.h>

#include "../src/hal.h"
#include "../src/loader.h"
#include "images.h"

enum { SPACE = 1024, MARK = 4 };

/* Each slot is its bytes, then the mark and its complement. */
static uint8_t slots[WT_SLOTS][SPACE + MARK];
/* After how many more written bytes power goes, or less than 0: it stays. */
static long power = -1;
static uint8_t torn;
static jmp_buf dark;
/* What the controller has answered last. */
static uint8_t answer[256];
static size_t answered;

static void write_byte(uint8_t *to, uint8_t byte) {
    if (power == 0) {
        *to = torn;
        power = -1;
        longjmp(dark, 1);
    }
    if (power > 0) {
        power--;
    }
    *to = byte;
}

const uint8_t *wt_hal_slot(uint8_t slot) {
    return slots[slot];
}

bool wt_hal_write(uint8_t slot, uint16_t offset, const uint8_t *bytes, uint8_t count) {
    uint8_t at;
    must(offset + count <= SPACE, "a write beyond the slot");
    for (at = 0; at < count; at++) {
        write_byte(&slots[slot][offset + at], bytes[at]);
    }
    return true;
}

bool wt_hal_finish(uint8_t slot) {
    (void)slot;
    return true;
}

uint16_t wt_hal_mark(uint8_t slot) {
    uint16_t mark = wt_u16(slots[slot] + SPACE);
    return (mark ^ wt_u16(slots[slot] + SPACE + 2)) == 0xFFFFu ? mark : 0u;
}

void wt_hal_set_mark(uint8_t slot, uint16_t mark) {
    uint8_t bytes[MARK];
    uint8_t at;
    store(bytes, mark, 2);
    store(bytes + 2, (uint16_t)~mark, 2);
    for (at = 0; at < MARK; at++) {
        write_byte(&slots[slot][SPACE + at], bytes[at]);
    }
}

/* Feeds bytes to the loader as they come over the line. */
static void feed(wt_loader *l, const uint8_t *bytes, size_t count) {
    size_t at;
    for (at = 0; at < count; at++) {
        wt_loader_byte(l, bytes[at]);
        while (wt_loader_next(l, &answer[answered])) {
            answered++;
            must(answered < sizeof answer, "an answer without end");
        }
    }
}

/* Sends a message in a frame with its check sum; the answer is in `answer`, still framed. */
static void ask(wt_loader *l, const uint8_t *message, size_t count) {
    uint8_t frame[2u * (WT_FRAME + 8u) + 2u];
    uint8_t sum[2];
    size_t size = 0;
    size_t at;
    uint16_t crc = wt_crc16_start();
    for (at = 0; at < count; at++) {
        crc = wt_crc16_more(crc, message[at]);
    }
    store(sum, crc, 2);
    frame[size++] = 0xC0;
    for (at = 0; at < count + 2u; at++) {
        uint8_t byte = at < count ? message[at] : sum[at - count];
        if (byte == 0xC0u || byte == 0xDBu) {
            frame[size++] = 0xDB;
            byte = byte == 0xC0u ? 0xDCu : 0xDDu;
        }
        frame[size++] = byte;
    }
    frame[size++] = 0xC0;
    answered = 0;
    feed(l, frame, size);
}

/* The kind that the last answer had; 0 if there was none. */
static uint8_t answered_kind(void) {
    return answered > 1u && answer[0] == 0xC0u ? answer[1] : 0u;
}

/* Sends a whole program as the compiler does; false if the controller did not take it. */
static inline bool load(wt_loader *l, const uint8_t *image, uint16_t length) {
    uint8_t message[4 + WT_MOST_DATA] = {WT_BEGIN, 0};
    uint16_t at;
    store(message + 2, length, 2);
    ask(l, message, 4);
    for (at = 0; at < length && answered_kind() != WT_ERROR;) {
        uint16_t count = (uint16_t)(length - at > WT_MOST_DATA ? WT_MOST_DATA : length - at);
        message[0] = WT_DATA;
        store(message + 2, at, 2);
        memcpy(message + 4, image + at, count);
        ask(l, message, 4u + count);
        at = (uint16_t)(at + count);
    }
    if (answered_kind() == WT_ERROR) {
        return false;
    }
    message[0] = WT_COMMIT;
    ask(l, message, 2);
    return answered_kind() == (WT_COMMIT | WT_ANSWER) && answer[3] == WT_OK;
}

#endif
