/* What the prover looks at: values of which it knows nothing but what stands here. It is not compiled.

   BEHIND is how many bytes behind an image may be read: where its tables lie is known to the prover only as bounds, and
   the sum of two bounds is wider than the bounds of the sum. `laid_out` fixes the counts and lengths of an image, and
   leaves all else free; nothing behind is read then. `tick` begins in any state at all of which `sound` holds, and ends
   in one: what it shows, it shows for every tick. */
#include "../src/rules.h"
#include "__fc_builtin.h"

#ifndef LENGTH
#define LENGTH 1024
#endif
#ifndef BEHIND
#define BEHIND 0
#endif
#ifndef TABLES
#define TABLES 1
#endif
#ifndef ROWS
#define ROWS 2
#endif
#ifndef LANES
#define LANES 1
#endif
/* What the controller is doing when the tick begins. */
#ifndef STATE
#define STATE WT_RUNNING
#endif

enum { OUTPUTS = 6, INPUTS = 10, SUPPLIES = 2 };
enum { NAME = 6, CALL = 9, AT_CALL = 43 + NAME + 8 * OUTPUTS + 5 * INPUTS + 2 * SUPPLIES };
enum { AT_ROWS = AT_CALL + 1 + CALL, AT_LANES = AT_ROWS + TABLES * (1 + 5 * ROWS) };

static uint8_t bytes[LENGTH + BEHIND];
static uint8_t constants[4 + 8 * OUTPUTS + 5 * INPUTS + 2 * SUPPLIES];
static wt_image image;
static wt_machine machine;
static wt_controller c;

static bool any_bool(void) {
    return Frama_C_interval(0, 1) == 1;
}

static uint8_t any_byte(int least, int most) {
    return (uint8_t)Frama_C_interval(least, most);
}

/* A machine that has every role; its numbers are free. */
static void any_machine(void) {
    static const uint8_t outputs[OUTPUTS] = {WT_HEATER, WT_ISOLATOR, WT_HEATER, WT_ISOLATOR, WT_LAMP, WT_BUZZER};
    static const uint8_t supplies[OUTPUTS] = {0, 0, 1, 1, 0, 0};
    static const uint8_t inputs[INPUTS] = {WT_START, WT_STOP, WT_DOWN, WT_HOME, WT_DOWN, WT_HEATER_CURRENT,
        WT_SUPPLY_CURRENT, WT_SUPPLY_CURRENT, WT_ROW, WT_GUARD};
    static const uint8_t subjects[INPUTS] = {0, 0, 0, 0, 2, 2, 0, 1, 0, 0};
    uint8_t index;
    Frama_C_make_unknown((char *)constants, sizeof constants);
    constants[0] = any_byte(1, 8);
    constants[1] = OUTPUTS;
    constants[2] = INPUTS;
    constants[3] = SUPPLIES;
    for (index = 0; index < OUTPUTS; index++) {
        constants[4 + 8 * index + 1] = outputs[index];
        constants[4 + 8 * index + 3] = supplies[index];
    }
    for (index = 0; index < INPUTS; index++) {
        constants[4 + 8 * OUTPUTS + 5 * index + 1] = inputs[index];
        constants[4 + 8 * OUTPUTS + 5 * index + 2] = subjects[index];
    }
    wt_machine_tables(constants, &machine.tables);
    machine.bench = Frama_C_unsigned_long_interval(0, 0xFFFFFFFF);
    machine.space = LENGTH;
}

/* Every length up to the longest, and every byte. */
void free_bytes(void) {
    uint32_t length = Frama_C_unsigned_long_interval(0, LENGTH);
    Frama_C_make_unknown((char *)bytes, sizeof bytes);
    any_machine();
    (void)wt_verify(bytes, length, any_bool() ? &machine : 0, &image);
}

static void lay_out(void) {
    uint16_t at = AT_LANES;
    uint8_t index;
    Frama_C_make_unknown((char *)bytes, sizeof bytes);
    bytes[34] = OUTPUTS;
    bytes[35] = INPUTS;
    bytes[36] = SUPPLIES;
    bytes[37] = 1;
    bytes[38] = TABLES;
    bytes[39] = LANES;
    bytes[42] = NAME;
    bytes[AT_CALL] = CALL;
    for (index = 0; index < TABLES; index++) {
        bytes[AT_ROWS + (1 + 5 * ROWS) * index] = ROWS;
    }
    for (index = 0; index < LANES; index++) {
        uint16_t length = index + 1 < LANES ? 12 : (uint16_t)(LENGTH - 4 - 2 - at);
        bytes[at] = (uint8_t)(length & 0xFF);
        bytes[at + 1] = (uint8_t)(length >> 8);
        at = (uint16_t)(at + 2 + length);
    }
}

void laid_out(void) {
    lay_out();
    (void)wt_verify(bytes, LENGTH, 0, &image);
}

static void any_controller(void) {
    uint8_t index;
    static wt_wiring wiring;
    wt_start_up(&c, &machine);
    wiring = c.wiring;
    Frama_C_make_unknown((char *)&c, sizeof c);
    c.wiring = wiring;
    c.machine = &machine;
    c.image.bytes = bytes;
    c.image.length = LENGTH;
    c.image.rows = AT_ROWS;
    c.image.table_count = any_byte(0, TABLES);
    c.image.row_count = TABLES > 0 ? ROWS : 0;
    c.image.lane_count = any_byte(1, WT_MOST_LANES);
    c.loaded = any_bool();
    c.ticked = any_bool();
    c.press = any_bool();
    c.row_press = any_bool();
    c.ready = any_bool();
    c.raw = (uint16_t)Frama_C_interval(0, (1 << INPUTS) - 1);
    c.stable = (uint16_t)Frama_C_interval(0, (1 << INPUTS) - 1);
    c.live = any_byte(0, (1 << OUTPUTS) - 1);
    c.state = STATE;
    c.row = any_byte(0, 15);
    c.checked = (uint16_t)Frama_C_interval(0, LENGTH - 4);
    for (index = 0; index < WT_MOST_LANES; index++) {
        c.lanes[index].active = any_bool();
        c.lanes[index].awaits = any_bool();
        c.lanes[index].held = any_bool();
        c.lanes[index].spoilt = any_bool();
        c.lanes[index].depth = any_byte(0, WT_DEEPEST);
    }
}

/* What a tick may count on, holds behind it. */
static void sound(void) {
    uint8_t index;
    for (index = 0; index < WT_MOST_LANES; index++) {
        /*@ assert depth: c.lanes[index].depth <= WT_DEEPEST; */
    }
    /*@ assert raw: c.raw < (1 << INPUTS); */
    /*@ assert stable: c.stable < (1 << INPUTS); */
    /*@ assert live: c.live < (1 << OUTPUTS); */
    /*@ assert state: c.state <= WT_CHECK; */
    /*@ assert checked: c.checked <= LENGTH - 4; */
    /*@ assert row: c.row <= 15; */
}

void tick(void) {
    lay_out();
    any_machine();
    any_controller();
    (void)wt_tick(&c, Frama_C_unsigned_long_interval(0, 0xFFFFFFFF), (uint16_t)Frama_C_interval(0, 0x7FFF));
    sound();
}

void start(void) {
    lay_out();
    any_machine();
    wt_start_up(&c, &machine);
    (void)wt_load(&c, bytes, LENGTH);
    sound();
}
