/* The interpreter: from one tick to the next. The rules are those of grammar/program-format.md.
   Long because all of a tick stands together: a compiler for a small chip makes less of it that way, and no part of it is
   of use without the others. */
#include "run.h"

#include "rules.h"

static uint16_t clamped(uint32_t time) {
    return (uint16_t)(time > 0xFFFFu ? 0xFFFFu : time);
}

static uint16_t add16(uint16_t a, uint32_t b) {
    return clamped((uint32_t)a + clamped(b));
}

static uint16_t sub16(uint16_t a, uint32_t b) {
    return a > clamped(b) ? (uint16_t)(a - clamped(b)) : 0u;
}

static uint32_t add32(uint32_t a, uint32_t b) {
    return a > 0xFFFFFFFFu - b ? 0xFFFFFFFFu : a + b;
}

static uint32_t sub32(uint32_t a, uint32_t b) {
    return a > b ? a - b : 0u;
}

/* Ticks are mostly 1 ms apart, and a small processor multiplies bytes far faster than whole words. */
static uint32_t times(uint32_t passed, uint8_t by) {
    return passed < 256u ? (uint32_t)(uint16_t)((uint16_t)(uint8_t)passed * by) : passed * by;
}

static uint8_t output_bit(uint8_t output) {
    return (uint8_t)(1u << output);
}

static uint16_t input_bit(uint8_t input) {
    return (uint16_t)(1u << input);
}

static bool is_live(const wt_controller *c, uint8_t output) {
    return (c->live & output_bit(output)) != 0u;
}

void wt_log(wt_controller *c, uint8_t lane, uint8_t kind, uint16_t detail) {
    wt_event *event = &c->ring[c->logged % WT_RING];
    event->time = c->ticked ? c->now - c->start : 0u;
    event->lane = lane;
    event->step = lane < WT_MOST_LANES ? c->lanes[lane].step : 0u;
    event->kind = kind;
    event->detail = detail;
    c->logged++;
}

void wt_switch_on(wt_controller *c, uint8_t output, uint8_t level) {
    wt_heater *heater = &c->heaters[output];
    if (!is_live(c, output) && heater->rest >= WT_SHORTEST_REST) {
        heater->on = 0;
    }
    c->live = (uint8_t)(c->live | output_bit(output));
    heater->level = level;
}

void wt_switch_off(wt_controller *c, uint8_t output) {
    c->live = (uint8_t)(c->live & (uint8_t)~output_bit(output));
    c->heaters[output].level = 0;
    c->heaters[output].rest = 0;
}

void wt_fail(wt_controller *c, uint8_t lane, uint8_t code) {
    uint8_t index;
    if (c->state == WT_FAULT) {
        return;
    }
    for (index = 0; index < c->machine->tables.output_count; index++) {
        if (is_live(c, index)) {
            wt_switch_off(c, index);
        }
    }
    for (index = 0; index < WT_MOST_SUPPLIES; index++) {
        c->holds[index] = 0;
    }
    c->state = WT_FAULT;
    /* A program that has changed in memory is not started again: it must be loaded anew, and proved. */
    if (code == WT_FAULT_IMAGE_CHANGED || code == WT_FAULT_BAD_PROGRAM) {
        c->loaded = false;
    }
    wt_log(c, lane, WT_EVENT_FAULT, code);
}

static uint32_t sum_limit(const wt_controller *c, uint8_t output) {
    return (uint32_t)c->limits[output] * 25500u;
}

static bool measures(uint8_t role) {
    return role == WT_HEATER_CURRENT || role == WT_SUPPLY_CURRENT;
}

static void read_wiring(wt_wiring *wiring, const wt_tables *tables) {
    uint8_t index;
    for (index = 0; index < tables->output_count; index++) {
        if (wt_is_heater(tables, index)) {
            uint8_t supply = wt_output_supply(tables, index);
            wiring->heaters = (uint8_t)(wiring->heaters | output_bit(index));
            wiring->fed[supply] = (uint8_t)(wiring->fed[supply] | output_bit(index));
        }
    }
    for (index = 0; index < tables->input_count; index++) {
        uint8_t role = wt_input_role(tables, index);
        uint8_t of = wt_input_subject(tables, index);
        uint16_t bit = input_bit(index);
        wiring->all = (uint16_t)(wiring->all | bit);
        wiring->roles[role] = (uint16_t)(wiring->roles[role] | bit);
        if (wt_input_normally_closed(tables, index)) {
            wiring->normally_closed = (uint16_t)(wiring->normally_closed | bit);
        }
        if (measures(role)) {
            uint8_t supply = role == WT_SUPPLY_CURRENT ? of : wt_output_supply(tables, of);
            wiring->currents = (uint16_t)(wiring->currents | bit);
            wiring->measured = (uint8_t)(wiring->measured | output_bit(supply));
        }
    }
}

void wt_start_up(wt_controller *c, const wt_machine *machine) {
    const wt_tables *tables = &machine->tables;
    uint8_t *bytes = (uint8_t *)c;
    uint16_t at;
    uint8_t index;
    for (at = 0; at < sizeof *c; at++) {
        bytes[at] = 0;
    }
    c->machine = machine;
    read_wiring(&c->wiring, tables);
    c->state = c->wiring.currents != 0u ? WT_SELF_TEST : WT_IDLE;
    for (index = 0; index < WT_HELD_OUTPUTS; index++) {
        c->limits[index] = index < tables->output_count ? wt_output_longest(tables, index) : 0u;
        c->complements[index] = (uint16_t)~c->limits[index];
        /* Nobody knows what was on before power came: assume as much heat as a start allows. */
        c->heaters[index].sum = sum_limit(c, index) / 2u;
    }
    c->check = wt_crc32_start();
}

void wt_remember(wt_controller *c, uint8_t output, uint32_t sum) {
    uint32_t most = sum_limit(c, output);
    uint32_t known = sum > most ? most : sum;
    if (known > c->heaters[output].sum) {
        c->heaters[output].sum = known;
    }
}

bool wt_may_load(const wt_controller *c) {
    return c->state != WT_RUNNING && c->state != WT_CHECK;
}

static void restart_check(wt_controller *c) {
    c->checked = 0;
    c->check = wt_crc32_start();
}

void wt_unload(wt_controller *c) {
    c->loaded = false;
}

wt_refusal wt_load(wt_controller *c, const uint8_t *bytes, uint16_t length) {
    wt_refusal refusal;
    c->loaded = false;
    refusal = wt_verify(bytes, length, c->machine, &c->image);
    if (refusal.reason == WT_OK) {
        c->loaded = true;
        c->row = 0;
        restart_check(c);
    }
    return refusal;
}

static bool raw(const wt_controller *c, uint8_t role) {
    return (c->raw & c->wiring.roles[role]) != 0u;
}

static bool any_stable(const wt_controller *c, uint8_t role, uint8_t subject) {
    const wt_tables *tables = &c->machine->tables;
    uint8_t index;
    for (index = 0; index < tables->input_count; index++) {
        if ((c->wiring.roles[role] & c->stable & input_bit(index)) != 0u
            && wt_input_subject(tables, index) == subject) {
            return true;
        }
    }
    return false;
}

/* Whether every guard there is, is closed. */
static bool guarded(const wt_controller *c) {
    return (c->wiring.roles[WT_GUARD] & (uint16_t)~(c->raw & c->stable)) == 0u;
}

bool wt_may_heat(const wt_controller *c, uint8_t output) {
    const wt_tables *tables = &c->machine->tables;
    const wt_heater *heater = &c->heaters[output];
    bool has_home;
    uint8_t index;
    if ((c->wiring.heaters & output_bit(output)) == 0u) {
        return true;
    }
    if (heater->rest < WT_SHORTEST_REST || heater->sum > sum_limit(c, output) / 2u || !guarded(c)) {
        return false;
    }
    has_home = wt_has_input(tables, WT_HOME, output);
    for (index = 0; index < tables->input_count; index++) {
        uint16_t bit = input_bit(index);
        if (wt_input_subject(tables, index) != output) {
            continue;
        }
        if ((c->wiring.roles[WT_DOWN] & bit) != 0u
            && ((c->raw & bit) != 0u
                || (has_home ? (c->stable & bit) != 0u : c->pins[index].lasts < WT_DOWN_ABSENT))) {
            return false;
        }
        if ((c->wiring.roles[WT_HOME] & bit & (uint16_t)~(c->raw & c->stable)) != 0u) {
            return false;
        }
    }
    return true;
}

/* A contact that has stood still for long enough counts. */
static void settle(wt_controller *c, uint8_t index, uint16_t bit, uint32_t passed) {
    wt_pin *pin = &c->pins[index];
    uint16_t changing = add16(pin->changing, passed);
    if (changing < wt_input_debounce(&c->machine->tables, index)) {
        pin->changing = (uint8_t)changing;
        return;
    }
    c->stable ^= bit;
    if ((c->stable & bit) != 0u) {
        c->press = c->press || (c->wiring.roles[WT_START] & bit) != 0u;
        c->row_press = c->row_press || (c->wiring.roles[WT_ROW] & bit) != 0u;
    }
}

static void read_inputs(wt_controller *c, uint32_t passed, uint16_t contacts) {
    uint16_t now = (uint16_t)((contacts ^ c->wiring.normally_closed) & c->wiring.all);
    uint16_t changed = now ^ c->raw;
    uint32_t phase = c->phase + passed;
    bool new_window = phase >= WT_WINDOW;
    /* Of an input that stands still, only an arm's needs a look. */
    uint16_t due = (uint16_t)(changed | (now ^ c->stable) | c->wiring.roles[WT_DOWN]);
    wt_pin *pin = c->pins;
    uint16_t bit = 1;
    uint8_t index;
    if (new_window) {
        phase %= WT_WINDOW;
        for (index = 0; index < WT_HELD_INPUTS; index++) {
            c->pins[index].changes = 0;
        }
    }
    c->phase = (uint16_t)phase;
    c->press = false;
    c->row_press = false;
    c->raw = now;
    for (index = 0; due != 0u; index++, pin++, bit = (uint16_t)(bit << 1), due = (uint16_t)(due >> 1)) {
        if ((due & 1u) == 0u) {
            continue;
        }
        if ((changed & bit) != 0u) {
            pin->changes = (uint8_t)(pin->changes < 255u ? pin->changes + 1u : 255u);
            pin->changing = 0;
        }
        if (((now ^ c->stable) & bit) != 0u) {
            settle(c, index, bit, passed);
        }
        if ((c->wiring.roles[WT_DOWN] & bit) != 0u) {
            pin->lasts = (c->stable & bit) != 0u ? 0u : add16(pin->lasts, passed);
        }
    }
}

static bool supply_heats(const wt_controller *c, uint8_t supply) {
    return (c->live & c->wiring.fed[supply]) != 0u;
}

static bool is_isolated(const wt_controller *c, uint8_t supply) {
    const wt_tables *tables = &c->machine->tables;
    uint8_t index;
    for (index = 0; index < tables->output_count; index++) {
        if (wt_output_role(tables, index) == WT_ISOLATOR && wt_output_supply(tables, index) == supply) {
            return true;
        }
    }
    return false;
}

static void account(wt_controller *c, uint32_t passed) {
    uint32_t leaks = times(passed, WT_LEAK);
    uint32_t round = 1000u;
    uint32_t blink = c->blink + passed;
    wt_heater *heater = c->heaters;
    uint8_t heaters = c->wiring.heaters;
    uint8_t live = c->live;
    uint8_t index;
    for (; heaters != 0u; heater++, heaters = (uint8_t)(heaters >> 1), live = (uint8_t)(live >> 1)) {
        if ((heaters & 1u) == 0u) {
            continue;
        }
        if ((live & 1u) != 0u) {
            heater->on = add32(heater->on, passed);
            heater->sum = add32(heater->sum, times(passed, heater->level));
        } else {
            heater->rest = add16(heater->rest, passed);
        }
        heater->sum = sub32(heater->sum, leaks);
    }
    for (index = 0; index < c->machine->tables.supply_count; index++) {
        if (supply_heats(c, index)) {
            c->holds[index] = (c->wiring.measured & output_bit(index)) != 0u ? WT_HELD : 0u;
        } else {
            c->holds[index] = sub16(c->holds[index], passed);
        }
    }
    for (index = 0; index < WT_MOST_LANES; index++) {
        if (c->lanes[index].reserved_to > 0u) {
            c->lanes[index].reserved_from = sub32(c->lanes[index].reserved_from, passed);
            c->lanes[index].reserved_to = sub32(c->lanes[index].reserved_to, passed);
        }
    }
    c->sounds = sub16(c->sounds, passed);
    if (c->loaded && c->image.row_count > 0u) {
        round += 500u * (c->row + 1u);
    }
    c->blink = (uint16_t)(blink < round ? blink : blink % round);
}

static bool arm_is_wrong(const wt_controller *c) {
    uint16_t down = c->wiring.roles[WT_DOWN] & c->stable;
    uint8_t index;
    for (index = 0; down != 0u; index++, down = (uint16_t)(down >> 1)) {
        if ((down & 1u) != 0u) {
            uint8_t of = wt_input_subject(&c->machine->tables, index);
            if (is_live(c, of) || any_stable(c, WT_HOME, of)) {
                return true;
            }
        }
    }
    return false;
}

static bool chatters(const wt_controller *c) {
    uint8_t index;
    for (index = 0; index < c->machine->tables.input_count; index++) {
        if (c->pins[index].changes > WT_CHATTER) {
            return true;
        }
    }
    return false;
}

/* Whether any heater of a supply is at work. */
static bool supply_works(const wt_controller *c, uint8_t supply) {
    uint8_t index;
    for (index = 0; index < c->machine->tables.output_count; index++) {
        if ((c->wiring.fed[supply] & output_bit(index)) != 0u && c->heaters[index].level > 0u) {
            return true;
        }
    }
    return false;
}

/* Current that flows for too long where a heater is off, or where part power should leave it dark. */
static void watch_currents(wt_controller *c, uint32_t passed) {
    const wt_tables *tables = &c->machine->tables;
    uint16_t currents = c->wiring.currents;
    bool fails = false;
    uint8_t index;
    for (index = 0; currents != 0u; index++, currents = (uint16_t)(currents >> 1)) {
        wt_pin *pin = &c->pins[index];
        uint8_t of;
        bool expected;
        if ((currents & 1u) == 0u) {
            continue;
        }
        if ((c->stable & input_bit(index)) == 0u) {
            pin->lasts = 0;
            continue;
        }
        of = wt_input_subject(tables, index);
        expected = (c->wiring.roles[WT_HEATER_CURRENT] & input_bit(index)) != 0u
            ? c->heaters[of].level > WT_SHOWS_DARK
            : supply_works(c, of);
        pin->lasts = expected ? 0u : add16(pin->lasts, passed);
        fails = fails || pin->lasts > WT_CURRENT_FALLS;
    }
    if (fails) {
        wt_fail(c, WT_NO_LANE, WT_FAULT_SWITCH_FAILED);
    }
}

/* Checks the next few bytes of the image in memory. */
static void check_image(wt_controller *c) {
    uint16_t body = (uint16_t)(c->image.length - 4u);
    uint8_t count;
    for (count = 0; count < WT_CHECKED && c->checked < body; count++, c->checked++) {
        c->check = wt_crc32_more(c->check, c->image.bytes + c->checked, 1);
    }
    if (c->checked == body) {
        if (wt_crc32_end(c->check) != wt_u32(c->image.bytes + body)) {
            wt_fail(c, WT_NO_LANE, WT_FAULT_IMAGE_CHANGED);
        }
        restart_check(c);
    }
}

static bool limits_are_damaged(const wt_controller *c) {
    uint8_t index;
    for (index = 0; index < c->machine->tables.output_count; index++) {
        if ((c->limits[index] ^ c->complements[index]) != 0xFFFFu) {
            return true;
        }
    }
    return false;
}

static void look_for_danger(wt_controller *c, uint32_t passed) {
    bool works = c->state == WT_RUNNING || c->state == WT_CHECK;
    bool moves = works || c->state == WT_SELF_TEST;
    if (limits_are_damaged(c)) {
        wt_fail(c, WT_NO_LANE, WT_FAULT_LIMITS_CHANGED);
    }
    if (moves && passed > WT_LONGEST_TICK) {
        wt_fail(c, WT_NO_LANE, WT_FAULT_MISSED_TICKS);
    }
    if (moves && raw(c, WT_STOP)) {
        wt_fail(c, WT_NO_LANE, WT_FAULT_STOP);
    }
    if (works && c->live != 0u && !guarded(c)) {
        wt_fail(c, WT_NO_LANE, WT_FAULT_GUARD_OPEN);
    }
    if (works && chatters(c)) {
        wt_fail(c, WT_NO_LANE, WT_FAULT_CHATTER);
    }
    if (works && arm_is_wrong(c)) {
        wt_fail(c, WT_NO_LANE, WT_FAULT_ARM_SWITCH);
    }
    watch_currents(c, passed);
    if (c->state == WT_RUNNING) {
        check_image(c);
    }
}

/* First each heater alone with its isolator open, then the isolators alone: neither may give current. */
static void self_test(wt_controller *c, uint32_t passed) {
    c->test_time = add16(c->test_time, passed);
    while (c->state == WT_SELF_TEST && c->test_time >= WT_TRIED) {
        c->test_time = (uint16_t)(c->test_time - WT_TRIED);
        if ((c->wiring.currents & c->stable) != 0u) {
            wt_fail(c, WT_NO_LANE, WT_FAULT_SWITCH_FAILED);
            return;
        }
        c->test++;
        if (c->test > c->machine->tables.output_count) {
            c->state = WT_IDLE;
            wt_log(c, WT_NO_LANE, WT_EVENT_TESTED, 0);
        }
    }
}

/* Goes on to the next heater, or ends the check. */
static void enter_check(wt_controller *c) {
    while (c->test < c->machine->tables.output_count) {
        if ((c->wiring.heaters & output_bit(c->test)) != 0u) {
            wt_switch_on(c, c->test, 255);
            return;
        }
        c->test++;
    }
    c->state = WT_IDLE;
    wt_log(c, WT_NO_LANE, WT_EVENT_CHECK, 1);
}

static bool lacks_current(const wt_controller *c, uint8_t output) {
    const wt_tables *tables = &c->machine->tables;
    uint8_t supply = wt_output_supply(tables, output);
    uint8_t index;
    for (index = 0; index < tables->input_count; index++) {
        uint8_t role = wt_input_role(tables, index);
        uint8_t of = wt_input_subject(tables, index);
        bool watches = (role == WT_HEATER_CURRENT && of == output) || (role == WT_SUPPLY_CURRENT && of == supply);
        if (watches && (c->stable & input_bit(index)) == 0u) {
            return true;
        }
    }
    return false;
}

/* Each heater on for a while, then off: current must come, and go. */
static void check_heaters(wt_controller *c, uint32_t passed) {
    uint8_t of = c->test;
    c->test_time = add16(c->test_time, passed);
    if (of < WT_HELD_OUTPUTS && c->test_time >= WT_CHECK_ON && is_live(c, of)) {
        wt_switch_off(c, of);
        if (lacks_current(c, of)) {
            wt_fail(c, WT_NO_LANE, WT_FAULT_NO_CURRENT);
            return;
        }
    }
    if (c->test_time >= WT_CHECK_ALL) {
        c->test_time = 0;
        c->test++;
        enter_check(c);
    }
}

static bool all_may_heat(const wt_controller *c) {
    uint8_t index;
    for (index = 0; index < c->machine->tables.output_count; index++) {
        if (!wt_may_heat(c, index)) {
            return false;
        }
    }
    return true;
}

static void start_program(wt_controller *c) {
    uint8_t *bytes = (uint8_t *)c->lanes;
    uint16_t at;
    uint8_t index;
    for (at = 0; at < sizeof c->lanes; at++) {
        bytes[at] = 0;
    }
    for (index = 0; index < c->image.lane_count; index++) {
        c->lanes[index].active = true;
        c->lanes[index].mark = c->now;
    }
    c->state = WT_RUNNING;
    c->start = c->now;
    restart_check(c);
    wt_log(c, WT_NO_LANE, WT_EVENT_START, c->row);
}

static void idle(wt_controller *c) {
    if (c->row_press && c->loaded && c->image.row_count > 0u) {
        c->row = (uint8_t)(c->row + 1u < c->image.row_count ? c->row + 1u : 0u);
        wt_log(c, WT_NO_LANE, WT_EVENT_ROW, c->row);
    }
    if (!c->press || raw(c, WT_STOP)) {
        return;
    }
    if (any_stable(c, WT_ROW, 0)) {
        if (all_may_heat(c)) {
            c->state = WT_CHECK;
            c->test = 0;
            c->test_time = 0;
            wt_log(c, WT_NO_LANE, WT_EVENT_CHECK, 0);
            enter_check(c);
        }
        return;
    }
    if (c->loaded) {
        start_program(c);
    }
}

/* Beside the lanes: no heater beyond its limit, and none that a changed program has switched on behind an open guard. */
static void guard(wt_controller *c) {
    uint8_t live;
    uint8_t index;
    if (c->live != 0u && !guarded(c)) {
        wt_fail(c, WT_NO_LANE, WT_FAULT_GUARD_OPEN);
    }
    live = c->live;
    for (index = 0; live != 0u; index++, live = (uint8_t)(live >> 1)) {
        const wt_heater *heater = &c->heaters[index];
        if ((live & 1u) == 0u) {
            continue;
        }
        if (heater->on > (uint32_t)c->limits[index] * 100u) {
            wt_fail(c, WT_NO_LANE, WT_FAULT_HEAT_LIMIT);
        } else if (heater->sum > sum_limit(c, index)) {
            wt_fail(c, WT_NO_LANE, WT_FAULT_HEAT_SUM);
        }
    }
}

static bool lamp(const wt_controller *c) {
    uint16_t blinks = (uint16_t)(500u * (c->row + 1u));
    switch (c->state) {
    case WT_RUNNING:
        return c->ready;
    case WT_IDLE:
        return c->loaded && (c->image.row_count == 0u || (c->blink < blinks && c->blink % 500u < 250u));
    case WT_FAULT:
        return (c->phase / 125u) % 2u == 0u;
    case WT_CHECK:
        return true;
    default:
        return false;
    }
}

/* Part power: lit for the first part of each window; windows of different outputs begin at different moments. */
static bool is_lit(const wt_controller *c, uint8_t index) {
    uint8_t level = c->heaters[index].level;
    uint16_t place;
    if (level == 0u || level == 255u) {
        return level != 0u;
    }
    place = (uint16_t)(c->phase + (uint16_t)(WT_WINDOW * index) / c->machine->tables.output_count);
    if (place >= WT_WINDOW) {
        place = (uint16_t)(place - WT_WINDOW);
    }
    return (uint32_t)place * 255u < (uint32_t)level * WT_WINDOW;
}

static bool output(const wt_controller *c, uint8_t index, uint8_t bit) {
    const wt_tables *tables = &c->machine->tables;
    bool works = c->state == WT_RUNNING || c->state == WT_CHECK;
    bool trying = c->state == WT_SELF_TEST;
    uint8_t supply;
    if ((c->wiring.heaters & bit) != 0u) {
        return (works && (c->live & bit) != 0u && is_lit(c, index))
            || (trying && c->test == index && is_isolated(c, wt_output_supply(tables, index)));
    }
    switch (wt_output_role(tables, index)) {
    case WT_ISOLATOR:
        supply = wt_output_supply(tables, index);
        return (trying && c->test == tables->output_count)
            || ((works || c->state == WT_IDLE) && (supply_heats(c, supply) || c->holds[supply] > 0u));
    case WT_LAMP:
        return lamp(c);
    default:
        return (c->state == WT_FAULT && c->phase < WT_WINDOW / 2u) || c->sounds > 0u;
    }
}

uint8_t wt_tick(wt_controller *c, uint32_t now, uint16_t contacts) {
    uint32_t passed = c->ticked ? now - c->now : 0u;
    uint8_t all = 0;
    uint8_t bit = 1;
    uint8_t index;
    if (passed > WT_LONGEST_PASSED) {
        passed = WT_LONGEST_PASSED;
    }
    if (!c->ticked) {
        c->start = now;
    }
    c->ticked = true;
    c->now = now;
    read_inputs(c, passed, contacts);
    account(c, passed);
    look_for_danger(c, passed);
    c->ready = false;
    switch (c->state) {
    case WT_SELF_TEST:
        self_test(c, passed);
        break;
    case WT_IDLE:
        idle(c);
        break;
    case WT_RUNNING:
        wt_run_lanes(c);
        break;
    case WT_FAULT:
        if (c->press && !raw(c, WT_STOP)) {
            wt_log(c, WT_NO_LANE, WT_EVENT_ACKNOWLEDGED, 0);
            c->state = WT_IDLE;
        }
        break;
    default:
        check_heaters(c, passed);
        break;
    }
    guard(c);
    for (index = 0; index < c->machine->tables.output_count; index++, bit = (uint8_t)(bit << 1)) {
        if (output(c, index, bit)) {
            all = (uint8_t)(all | bit);
        }
    }
    return all;
}
