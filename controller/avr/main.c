/* Firmware for the atmega328p core at 16 MHz: one tick of the interpreter each millisecond, the serial line in between,
   and sleep for the rest. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <avr/sleep.h>
#include <avr/wdt.h>

#include "../src/loader.h"
#include "../src/rules.h"
#include "line.h"
#define WITHY_MACHINE_PLACE PROGMEM
#include MACHINE
#include "pins.h"
#include "store.h"

#if WITHY_SPACE > WT_SLOT_SPACE
#error "program_space in the controller block is more than a slot of this chip: 4096 bytes"
#endif
#if WITHY_HIGHEST_OUTPUT > 7
#error "this chip has the output pins 0 to 7"
#endif
#if WITHY_HIGHEST_INPUT > 9
#error "this chip has the input pins 0 to 9"
#endif

/* How long the chip may go without a tick before it starts anew with all outputs off. */
#define WATCHDOG WDTO_120MS

/* Heat sums in steps of 65536, rounded up, with their complements. They outlive a reset as long as the memory does. */
typedef struct {
    uint16_t sum;
    uint16_t complement;
} kept_sum;

static kept_sum kept[WITHY_OUTPUTS] __attribute__((section(".noinit")));
static uint8_t cause __attribute__((section(".noinit")));

static wt_machine machine;
static wt_controller controller;
static wt_loader loader;
static volatile uint8_t ticks;

/* Before anything else, since the watchdog runs on through the reset that it has made, with its shortest time. */
void __attribute__((naked, used, section(".init3"))) look_at_cause(void);
void look_at_cause(void) {
    cause = MCUSR;
    MCUSR = 0;
    wdt_enable(WATCHDOG);
}

ISR(TIMER0_COMPA_vect) {
    ticks++;
}

/* 16 MHz through 64 through 250: each millisecond. */
static void clock_start(void) {
    TCCR0A = _BV(WGM01);
    OCR0A = 249;
    TIMSK0 = _BV(OCIE0A);
    TCCR0B = _BV(CS01) | _BV(CS00);
}

static uint16_t contacts(void) {
    uint16_t closed = pins_closed();
    uint16_t all = 0;
#define CONTACT(index, pin) all = (uint16_t)(all | ((closed & (1u << (pin))) != 0u ? 1u << (index) : 0u));
    WITHY_EACH_INPUT(CONTACT)
    return all;
}

static void show(uint8_t outputs) {
    uint8_t all = 0;
#define TERMINAL(index, pin) all = (uint8_t)(all | ((outputs & (1u << (index))) != 0u ? 1u << (pin) : 0u));
    WITHY_EACH_OUTPUT(TERMINAL)
    pins_set(all);
}

static void keep_sums(void) {
    uint8_t output;
    for (output = 0; output < WITHY_OUTPUTS; output++) {
        kept[output].sum = (uint16_t)((controller.heaters[output].sum >> 16) + 1u);
        kept[output].complement = (uint16_t)~kept[output].sum;
    }
}

/* Nothing is resumed, whatever the reset came from: the controller is idle, or reports that it was late. */
static void power_up(void) {
    uint8_t output;
    machine.bench = WITHY_BENCH;
    machine.space = WITHY_SPACE;
    wt_machine_tables(withy_machine, &machine.tables);
    wt_start_up(&controller, &machine);
    for (output = 0; output < WITHY_OUTPUTS; output++) {
        if ((kept[output].sum ^ kept[output].complement) == 0xFFFFu) {
            wt_remember(&controller, output, (uint32_t)kept[output].sum << 16);
        }
    }
    if ((cause & _BV(WDRF)) != 0u) {
        wt_fail(&controller, WT_NO_LANE, WT_FAULT_MISSED_TICKS);
    }
    wdt_reset();
    wt_loader_start(&loader, &controller);
    wdt_reset();
}

/* Sleeps until something has come; between the look and the sleep no interrupt can slip through. */
static uint8_t next_ticks(void) {
    uint8_t passed;
    cli();
    if (ticks == 0u) {
        sleep_enable();
        sei();
        sleep_cpu();
        sleep_disable();
        cli();
    }
    passed = ticks;
    ticks = 0;
    sei();
    return passed;
}

int main(void) {
    uint32_t now = 0;
    pins_start();
    power_up();
    line_start();
    clock_start();
    SMCR = SLEEP_MODE_IDLE;
    for (;;) {
        uint8_t passed = next_ticks();
        uint8_t byte;
        if (passed > 0u) {
            now += passed;
            show(wt_tick(&controller, now, contacts()));
            keep_sums();
            wdt_reset();
        }
        while (line_take(&byte)) {
            wt_loader_byte(&loader, byte);
        }
        if (line_is_free() && wt_loader_next(&loader, &byte)) {
            line_give(byte);
        }
    }
}
