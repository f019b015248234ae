/* A controller whose serial line is standard input and output, and whose slots are a file: for tests of the loader.

   Arguments: file of the machine's constants (u32 bench, u16 space, then the tables), file of the slots (made if it is
   not there), and perhaps after how many written bytes the power is cut, and what then stands in the byte that was being
   written: a page of flash and a byte of EEPROM are erased before they are written, and what is cut short may hold
   anything. It never ticks: nothing can start. */
#define _POSIX_C_SOURCE 200809L
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "../src/hal.h"
#include "../src/loader.h"

enum { SPACE = 8192, PAGE = 128 };

typedef struct {
    uint8_t bytes[WT_SLOTS][SPACE];
    uint16_t marks[WT_SLOTS];
    uint16_t complements[WT_SLOTS];
} slots;

static slots memory;
static const char *slots_file;
static long budget = -1;
static long torn = 0xFF;

static void keep(void) {
    FILE *file = fopen(slots_file, "wb");
    if (file == NULL || fwrite(&memory, sizeof memory, 1, file) != 1 || fclose(file) != 0) {
        exit(3);
    }
}

/* Power may go while any byte is written: it is torn, and with it a page that was erased to take it. */
static void put(uint8_t *place, uint8_t byte, uint8_t *page, size_t size) {
    if (budget == 0) {
        memset(page, 0xFF, size);
        *place = (uint8_t)torn;
        keep();
        exit(9);
    }
    if (budget > 0) {
        budget--;
    }
    *place = byte;
}

const uint8_t *wt_hal_slot(uint8_t slot) {
    return memory.bytes[slot];
}

bool wt_hal_write(uint8_t slot, uint16_t offset, const uint8_t *bytes, uint8_t count) {
    uint8_t at;
    if ((uint32_t)offset + count > SPACE) {
        return false;
    }
    for (at = 0; at < count; at++) {
        /* Bytes before this one in its page are given anew with it, as on a chip that gathers a page first. */
        uint8_t *place = &memory.bytes[slot][offset + at];
        uint8_t *rest = place - (offset + at) % PAGE;
        put(place, bytes[at], rest, PAGE);
    }
    return true;
}

bool wt_hal_finish(uint8_t slot) {
    (void)slot;
    return true;
}

uint16_t wt_hal_mark(uint8_t slot) {
    return (memory.marks[slot] ^ memory.complements[slot]) == 0xFFFFu ? memory.marks[slot] : 0u;
}

void wt_hal_set_mark(uint8_t slot, uint16_t mark) {
    uint8_t *marks = (uint8_t *)&memory.marks[slot];
    uint8_t *complements = (uint8_t *)&memory.complements[slot];
    uint16_t complement = (uint16_t)~mark;
    uint8_t at;
    /* As on the chip: byte by byte, the complement last. */
    for (at = 0; at < 2u; at++) {
        put(marks + at, (uint8_t)(mark >> (8u * at)), marks + at, 1);
    }
    for (at = 0; at < 2u; at++) {
        put(complements + at, (uint8_t)(complement >> (8u * at)), complements + at, 1);
    }
    keep();
}

int main(int count, char **arguments) {
    static uint8_t constants[512];
    static wt_controller controller;
    static wt_loader loader;
    wt_machine machine;
    FILE *file;
    uint8_t byte;
    if (count < 3) {
        fprintf(stderr, "serial: machine file, slots file\n");
        return 2;
    }
    file = fopen(arguments[1], "rb");
    if (file == NULL || fread(constants, 1, sizeof constants, file) < 10u) {
        return 3;
    }
    (void)fclose(file);
    machine.bench = wt_u32(constants);
    machine.space = wt_u16(constants + 4);
    wt_machine_tables(constants + 6, &machine.tables);
    slots_file = arguments[2];
    file = fopen(slots_file, "rb");
    if (file != NULL) {
        if (fread(&memory, sizeof memory, 1, file) != 1) {
            return 3;
        }
        (void)fclose(file);
    }
    if (count > 3) {
        budget = strtol(arguments[3], NULL, 10);
    }
    if (count > 4) {
        torn = strtol(arguments[4], NULL, 10);
    }
    wt_start_up(&controller, &machine);
    wt_loader_start(&loader, &controller);
    while (read(STDIN_FILENO, &byte, 1) == 1) {
        wt_loader_byte(&loader, byte);
        while (wt_loader_next(&loader, &byte)) {
            if (write(STDOUT_FILENO, &byte, 1) != 1) {
                return 3;
            }
        }
    }
    keep();
    return 0;
}
