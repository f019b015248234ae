/* Fuzzes the loader: messages in any order, damaged frames, ticks and presses in between, power that goes.

   An input is a row of acts: u8 which, then what the act needs. 0: raw bytes (u8 count, bytes); 1 to 7: the message of
   that kind (u8 count of operands, operands); 8: loads the sound program (u8 at which 64th byte to change it, u8 how:
   0 not at all; u8 where to stop); 9: ticks (u8 how many, u8 whether start is pressed); 10: power goes after so many
   more written bytes (u8 how many, u8 what the last one is left as). */
#include "slots.h"

#include "vectors.h"

static wt_machine machine;
static wt_controller controller;
static wt_loader loader;
/* The program that was taken last, and the one that is being loaded; the first is what must be there. */
static uint8_t taken[SPACE];
static uint16_t taken_length;
static uint32_t now;

static void boot(void) {
    wt_start_up(&controller, &machine);
    wt_loader_start(&loader, &controller);
}

/* What the loader calls the program in use must be the whole one that it has taken. */
static void look(void) {
    if (answered_kind() == (WT_COMMIT | WT_ANSWER) && answer[3] == WT_OK) {
        must(controller.loaded, "taken, and not there");
        taken_length = controller.image.length;
        memcpy(taken, controller.image.bytes, taken_length);
        answered = 0;
    }
    must(controller.loaded == (taken_length > 0u), "a program is there that was not taken, or the one that was is gone");
    if (controller.loaded) {
        static wt_image parts;
        must(controller.image.length == taken_length && memcmp(controller.image.bytes, taken, taken_length) == 0,
            "the program in use has changed");
        must(wt_verify(controller.image.bytes, taken_length, &machine, &parts).reason == WT_OK, "not proved");
    }
}

static void send_sound(uint8_t place, uint8_t flip, uint8_t stop) {
    uint8_t image[sizeof sound];
    uint8_t message[4 + WT_MOST_DATA] = {WT_BEGIN, 7};
    uint16_t at;
    memcpy(image, sound, sizeof sound);
    image[place % sizeof sound] ^= flip;
    if ((flip & 1u) == 0u) {
        repair(image, sizeof image);
    }
    store(message + 2, sizeof image, 2);
    ask(&loader, message, 4);
    message[0] = WT_DATA;
    for (at = 0; at < sizeof image && at / 8u < stop;) {
        uint16_t count = (uint16_t)(sizeof image - at > 40u ? 40u : sizeof image - at);
        store(message + 2, at, 2);
        memcpy(message + 4, image + at, count);
        ask(&loader, message, 4u + count);
        at = (uint16_t)(at + count);
    }
    message[0] = WT_COMMIT;
    ask(&loader, message, 2);
}

/* One act; how many bytes it took. */
static size_t act(const uint8_t *data, size_t size) {
    uint8_t message[2 + 255];
    uint8_t which = data[0] % 11u;
    size_t count = size > 1u ? data[1] : 0u;
    uint8_t tick;
    if (which == 8u && size >= 4u) {
        send_sound(data[1], data[2], data[3]);
        return 4;
    }
    if (which == 9u && size >= 3u) {
        for (tick = 0; tick < data[1]; tick++) {
            now += 20u;
            /* The stop contact of the machine of the vectors is closed at rest. */
            (void)wt_tick(&controller, now, (uint16_t)(0x0A | (data[2] & 1u)));
        }
        return 3;
    }
    if (which == 10u && size >= 3u) {
        power = data[1];
        torn = data[2];
        return 3;
    }
    count = count > size - 2u ? size - 2u : count;
    if (size < 2u || which > 7u) {
        return size;
    }
    if (which == 0u) {
        answered = 0;
        feed(&loader, data + 2, count);
        return 2u + count;
    }
    count = count > WT_MOST_DATA + 4u ? WT_MOST_DATA + 4u : count;
    message[0] = which;
    message[1] = data[0];
    memcpy(message + 2, data + 2, count);
    ask(&loader, message, 2u + count);
    return 2u + count;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static const uint8_t *volatile from;
    static volatile size_t left;
    from = data;
    left = size;
    machine.bench = wt_u32(sound + 24);
    machine.space = SPACE;
    wt_machine_tables(constants, &machine.tables);
    memset(slots, 0xFF, sizeof slots);
    power = -1;
    taken_length = 0;
    answered = 0;
    boot();
    while (left > 0u) {
        if (setjmp(dark) != 0) {
            /* Power has gone, and comes again. The new program counts if it was proved and its mark came to be right. */
            bool marking = !loader.loading && loader.written == loader.length;
            answered = 0;
            boot();
            if (marking && controller.loaded) {
                taken_length = controller.image.length;
                memcpy(taken, controller.image.bytes, taken_length);
            }
        } else {
            size_t used = act(from, left);
            from += used;
            left -= used;
        }
        look();
    }
    return 0;
}
