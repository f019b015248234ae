/* Programs lie in flash, which the chip writes page by page, and only from code in the last part of its flash. While it
   does so, about 8 ms a page, nothing else runs: no heater is on then, since a controller that works takes no program. The
   ticks that fall into it are lost, so that rests and what leaks from sums of heat come out too short, never too long. */
#include "store.h"

#include <avr/boot.h>
#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/pgmspace.h>
#include <avr/wdt.h>

/* EEPROM address of the first mark; the next ones follow. Not 0: that is where a failing supply writes first. */
enum { MARKS_FROM = 16, MARK = 4 };

/* How much of the slot that is being written is given already, and an odd last byte of it. */
static uint16_t given;
static uint8_t odd;

/* Forgets what was gathered for a page. */
BOOTLOADER_SECTION static void __attribute__((noinline)) forget_page(void) {
    boot_spm_busy_wait();
    boot_rww_enable();
}

/* Gathers two bytes for the page at their address. */
BOOTLOADER_SECTION static void __attribute__((noinline)) gather(uint16_t address, uint16_t word) {
    boot_spm_busy_wait();
    boot_page_fill(address, word);
}

/* Writes the page that was gathered. */
BOOTLOADER_SECTION static void __attribute__((noinline)) write_page(uint16_t address) {
    boot_page_erase(address);
    boot_spm_busy_wait();
    boot_page_write(address);
    boot_spm_busy_wait();
    boot_rww_enable();
}

static uint16_t place(uint8_t slot) {
    return (uint16_t)(WT_SLOTS_FROM + (uint16_t)slot * WT_SLOT_SPACE);
}

/* Interrupts live in the part of the flash that cannot be read meanwhile. EEPROM and flash are not written at once. */
static void write(uint16_t last) {
    eeprom_busy_wait();
    wdt_reset();
    cli();
    write_page(last & (uint16_t)~(SPM_PAGESIZE - 1u));
    sei();
    wdt_reset();
}

static void give(uint16_t address, uint16_t word) {
    cli();
    gather(address, word);
    sei();
    if ((address + 2u) % SPM_PAGESIZE == 0u) {
        write(address);
    }
}

const uint8_t *wt_hal_slot(uint8_t slot) {
    return (const uint8_t *)place(slot);
}

bool wt_hal_write(uint8_t slot, uint16_t offset, const uint8_t *bytes, uint8_t count) {
    uint8_t at;
    if ((uint32_t)offset + count > WT_SLOT_SPACE) {
        return false;
    }
    if (offset == 0u) {
        cli();
        forget_page();
        sei();
        given = 0;
    }
    for (at = 0; at < count; at++) {
        if (given % 2u == 0u) {
            odd = bytes[at];
        } else {
            give((uint16_t)(place(slot) + given - 1u), (uint16_t)(odd | (uint16_t)((uint16_t)bytes[at] << 8)));
        }
        given++;
    }
    return true;
}

bool wt_hal_finish(uint8_t slot) {
    if (given % 2u == 1u) {
        give((uint16_t)(place(slot) + given - 1u), (uint16_t)(odd | 0xFF00u));
        given++;
    }
    if (given % SPM_PAGESIZE != 0u) {
        write((uint16_t)(place(slot) + given - 1u));
    }
    return true;
}

static uint16_t *mark_at(uint8_t slot) {
    return (uint16_t *)(uint16_t)(MARKS_FROM + MARK * slot);
}

uint16_t wt_hal_mark(uint8_t slot) {
    uint16_t mark = eeprom_read_word(mark_at(slot));
    uint16_t complement = eeprom_read_word(mark_at(slot) + 1);
    return (mark ^ complement) == 0xFFFFu ? mark : 0u;
}

void wt_hal_set_mark(uint8_t slot, uint16_t mark) {
    wdt_reset();
    eeprom_update_word(mark_at(slot), mark);
    eeprom_update_word(mark_at(slot) + 1, (uint16_t)~mark);
    eeprom_busy_wait();
    wdt_reset();
}
