/* Runs cases from standard input and writes what the controller made of them: for tests that compare.

   A case: machine bytes (u16 length, bytes; u32 bench, u16 space), image (u32 length, bytes), u16 count of ticks,
   then for each tick: u8 action, u16 place, u16 flip, u32 now, u16 contacts. Actions: 0 none; 1 flip bits of a byte of
   the image where it is stored; 2 flip bits of a limit, from 8 on of its complement; 3 power comes again and the image
   is loaded from where it is stored.
   The answer: u8 reason, u16 offset, then for each tick: u8 outputs, u8 state, u8 count of events, the heat sums of all
   outputs added up (u32), and the events (u32 time, u8 lane, u16 step, u8 kind, u16 detail). A reason that is not 0 ends
   the answer. All numbers little-endian. */
#include <stdio.h>
#include <stdlib.h>

#include "../src/run.h"

static void need(bool holds, const char *why) {
    if (!holds) {
        fprintf(stderr, "replay: %s\n", why);
        exit(3);
    }
}

static bool get(uint8_t *to, size_t count) {
    return fread(to, 1, count, stdin) == count;
}

static uint32_t number(uint8_t count) {
    uint8_t bytes[4] = {0, 0, 0, 0};
    need(get(bytes, count), "the case is cut short");
    return wt_u32(bytes);
}

static void put(uint32_t value, uint8_t count) {
    for (; count > 0u; count--, value >>= 8) {
        need(putchar((int)(value & 0xFFu)) != EOF, "cannot write");
    }
}

static uint8_t machine_bytes[512];
/* Of exactly the image's length, so that a sanitizer sees the first byte that is read behind it. */
static uint8_t *image;
static wt_controller controller;

static void tick(uint16_t *seen) {
    uint32_t now = number(4);
    uint16_t contacts = (uint16_t)number(2);
    uint8_t outputs = wt_tick(&controller, now, contacts);
    uint16_t count = (uint16_t)(controller.logged - *seen);
    uint32_t heat = 0;
    uint8_t output;
    for (output = 0; output < WT_MOST_OUTPUTS; output++) {
        heat += controller.heaters[output].sum;
    }
    put(outputs, 1);
    put(controller.state, 1);
    put(count, 1);
    put(heat, 4);
    need(count <= WT_RING, "the ring is too small for one tick");
    for (; *seen != controller.logged; (*seen)++) {
        const wt_event *event = &controller.ring[*seen % WT_RING];
        put(event->time, 4);
        put(event->lane, 1);
        put(event->step, 2);
        put(event->kind, 1);
        put(event->detail, 2);
    }
}

int main(void) {
    uint8_t first[2];
    while (get(first, 2)) {
        uint16_t size = wt_u16(first);
        wt_machine machine;
        wt_refusal refusal;
        uint32_t length;
        uint32_t ticks;
        uint16_t seen = 0;
        need(size <= sizeof machine_bytes && get(machine_bytes, size), "the machine is cut short");
        wt_machine_tables(machine_bytes, &machine.tables);
        machine.bench = number(4);
        machine.space = (uint16_t)number(2);
        length = number(4);
        need(length <= 65536u, "the image is too long");
        free(image);
        image = malloc(length > 0u ? length : 1u);
        need(image != NULL && get(image, length), "the image is cut short");
        wt_start_up(&controller, &machine);
        refusal = length > 65535u ? wt_verify(image, length, &machine, &controller.image)
                                  : wt_load(&controller, image, (uint16_t)length);
        put(refusal.reason, 1);
        put(refusal.offset, 2);
        ticks = number(2);
        for (; ticks > 0u; ticks--) {
            uint8_t action = (uint8_t)number(1);
            uint16_t place = (uint16_t)number(2);
            uint16_t flip = (uint16_t)number(2);
            if (refusal.reason != WT_OK) {
                (void)number(4);
                (void)number(2);
                continue;
            }
            if (action == 1u) {
                image[place] = (uint8_t)(image[place] ^ flip);
            } else if (action == 2u) {
                uint16_t *limits = place < WT_MOST_OUTPUTS ? controller.limits : controller.complements;
                limits[place % WT_MOST_OUTPUTS] ^= flip;
            } else if (action == 3u) {
                wt_start_up(&controller, &machine);
                (void)wt_load(&controller, image, (uint16_t)length);
                seen = 0;
            }
            tick(&seen);
        }
    }
    need(fflush(stdout) == 0, "cannot write");
    return 0;
}
