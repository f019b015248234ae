/* The interpreter. Time and contacts are handed in, what each output shall be is handed back: no clock, no pins. */
#ifndef WITHY_RUN_H
#define WITHY_RUN_H

#include "image.h"

enum { WT_SELF_TEST = 0, WT_IDLE = 1, WT_RUNNING = 2, WT_FAULT = 3, WT_CHECK = 4 };

enum {
    WT_EVENT_START = 1,
    WT_EVENT_STEP = 2,
    WT_EVENT_CALL = 3,
    WT_EVENT_ON = 4,
    WT_EVENT_OFF = 5,
    WT_EVENT_BEGIN = 6,
    WT_EVENT_MET = 7,
    WT_EVENT_LATE = 8,
    WT_EVENT_GOOD = 9,
    WT_EVENT_SCRAP = 10,
    WT_EVENT_LANE_END = 11,
    WT_EVENT_DONE = 12,
    WT_EVENT_FAULT = 13,
    WT_EVENT_ROW = 14,
    WT_EVENT_ACKNOWLEDGED = 15,
    WT_EVENT_TESTED = 16,
    WT_EVENT_CHECK = 17
};

enum {
    WT_FAULT_STOP = 1,
    WT_FAULT_GUARD_OPEN = 2,
    WT_FAULT_MISSED_TICKS = 3,
    WT_FAULT_HEAT_LIMIT = 4,
    WT_FAULT_HEAT_SUM = 5,
    WT_FAULT_SWITCH_FAILED = 6,
    WT_FAULT_ARM_SWITCH = 7,
    WT_FAULT_IMAGE_CHANGED = 8,
    WT_FAULT_LIMITS_CHANGED = 9,
    WT_FAULT_BAD_PROGRAM = 10,
    WT_FAULT_CHATTER = 11,
    WT_FAULT_NO_CURRENT = 12
};

enum { WT_NO_LANE = 255 };

/* How many events the ring holds; the oldest are overwritten. */
#ifndef WT_RING
#define WT_RING 16
#endif

typedef struct {
    uint32_t time;
    uint16_t step;
    uint16_t detail;
    uint8_t lane;
    uint8_t kind;
} wt_event;

/* How many outputs and inputs there is room for; a build for one bench may ask for less than the format allows. */
#ifndef WT_HELD_OUTPUTS
#define WT_HELD_OUTPUTS WT_MOST_OUTPUTS
#endif
#ifndef WT_HELD_INPUTS
#define WT_HELD_INPUTS WT_MOST_INPUTS
#endif

/* What is read off the machine's tables once, since a tick has no time for it: a bit for each input or output. */
typedef struct {
    uint16_t all;
    uint16_t normally_closed;
    /* The inputs of each role. */
    uint16_t roles[WT_GUARD + 1];
    uint16_t currents;
    uint8_t heaters;
    /* The heaters of each supply, and the supplies of which a current input tells. */
    uint8_t fed[WT_MOST_SUPPLIES];
    uint8_t measured;
} wt_wiring;

typedef struct {
    uint8_t changes;
    uint8_t changing;
    /* How long an `arm down` has been at rest, or a current has flown that should not. */
    uint16_t lasts;
} wt_pin;

typedef struct {
    uint8_t level;
    uint16_t rest;
    uint32_t on;
    uint32_t sum;
} wt_heater;

typedef struct {
    bool active;
    bool awaits;
    bool held;
    bool spoilt;
    uint8_t depth;
    uint8_t heats;
    uint8_t supply;
    uint16_t at;
    uint16_t claim;
    uint16_t step;
    uint16_t good;
    uint16_t bad;
    uint16_t loop_from[WT_DEEPEST];
    uint16_t loop_left[WT_DEEPEST];
    uint32_t mark;
    uint32_t base;
    uint32_t reserved_from;
    uint32_t reserved_to;
} wt_lane;

typedef struct {
    /* What is read most comes first: a small processor reaches the first 64 bytes more shortly than the rest. */
    const wt_machine *machine;
    bool loaded;
    bool ticked;
    bool press;
    bool row_press;
    bool ready;
    uint8_t state;
    uint8_t row;
    uint8_t test;
    /* The heaters that count as on. */
    uint8_t live;
    uint16_t raw;
    uint16_t stable;
    uint16_t test_time;
    uint16_t phase;
    uint16_t blink;
    uint16_t sounds;
    uint16_t checked;
    uint16_t logged;
    uint32_t check;
    uint32_t now;
    uint32_t start;
    wt_wiring wiring;
    wt_image image;
    uint16_t holds[WT_MOST_SUPPLIES];
    uint16_t limits[WT_HELD_OUTPUTS];
    uint16_t complements[WT_HELD_OUTPUTS];
    wt_heater heaters[WT_HELD_OUTPUTS];
    wt_pin pins[WT_HELD_INPUTS];
    wt_lane lanes[WT_MOST_LANES];
    wt_event ring[WT_RING];
} wt_controller;

/* Power has come. */
void wt_start_up(wt_controller *c, const wt_machine *machine);

/* A machine that still knows how much heat an output has given before the reset says so: if it is more than what is
   assumed at power-up, it counts. */
void wt_remember(wt_controller *c, uint8_t output, uint32_t sum);

/* Whether a program may be loaded now. */
bool wt_may_load(const wt_controller *c);

/* Loads an image that lies at a place of its own, if it passes every proof. */
wt_refusal wt_load(wt_controller *c, const uint8_t *bytes, uint16_t length);

/* Forgets the program, before its place is written to. */
void wt_unload(wt_controller *c);

/* Time has come to `now` (ms, it wraps), and the contacts of the inputs in `contacts` are closed. Gives the outputs
   that shall be on, one bit for each. */
uint8_t wt_tick(wt_controller *c, uint32_t now, uint16_t contacts);

#endif
