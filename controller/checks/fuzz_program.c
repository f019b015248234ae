/* Fuzzes verifier and interpreter: what the verifier lets pass is run on a bench that mostly behaves.

   An input: u8 how (bit 0: leave check sums as they are; bit 1: let the inputs do as they like); the image, whose length
   stands in it; then moments of 4 bytes: u8 time between ticks, u16 contacts that are not as they should be, u8 how
   many ticks. */
#include "../src/rules.h"
#include "images.h"

enum { MOST_TICKS = 3000, LONGEST = 4096 };

typedef struct {
    const wt_controller *controller;
    uint32_t lit[WT_MOST_OUTPUTS];
    uint32_t dark[WT_MOST_OUTPUTS];
    uint8_t outputs;
} watch;

static bool awaits(const wt_controller *c) {
    uint8_t lane;
    for (lane = 0; lane < WT_MOST_LANES; lane++) {
        if (c->lanes[lane].active && c->lanes[lane].awaits) {
            return true;
        }
    }
    return false;
}

static bool draws(const watch *w, uint8_t supply) {
    const wt_tables *tables = &w->controller->machine->tables;
    uint8_t index;
    for (index = 0; index < tables->output_count; index++) {
        if (wt_is_heater(tables, index) && wt_output_supply(tables, index) == supply
            && ((w->outputs >> index) & 1u) != 0u) {
            return true;
        }
    }
    return false;
}

/* Contacts as a well-behaved bench has them. */
static uint16_t contacts(const watch *w, uint32_t tick) {
    const wt_controller *c = w->controller;
    const wt_tables *tables = &c->machine->tables;
    uint16_t all = 0;
    uint8_t index;
    for (index = 0; index < tables->input_count; index++) {
        uint8_t of = wt_input_subject(tables, index);
        bool active = false;
        switch (wt_input_role(tables, index)) {
        case WT_START:
            active = tick % 40u < 20u;
            break;
        case WT_DOWN:
            active = awaits(c);
            break;
        case WT_HOME:
            active = !awaits(c);
            break;
        case WT_HEATER_CURRENT:
            active = c->state != WT_SELF_TEST && ((w->outputs >> of) & 1u) != 0u;
            break;
        case WT_SUPPLY_CURRENT:
            active = c->state != WT_SELF_TEST && draws(w, of);
            break;
        case WT_GUARD:
            active = true;
            break;
        default:
            break;
        }
        if (active != wt_input_normally_closed(tables, index)) {
            all = (uint16_t)(all | (1u << index));
        }
    }
    return all;
}

static void look(watch *w, uint32_t passed, uint8_t outputs) {
    const wt_controller *c = w->controller;
    const wt_tables *tables = &c->machine->tables;
    uint8_t index;
    for (index = 0; index < tables->output_count; index++) {
        uint8_t role = wt_output_role(tables, index);
        bool is = ((outputs >> index) & 1u) != 0u;
        if (role != WT_HEATER && role != WT_ISOLATOR) {
            continue;
        }
        must(!is || c->state != WT_FAULT, "an output is on in a fault");
        if (role == WT_ISOLATOR) {
            continue;
        }
        if (((w->outputs >> index) & 1u) != 0u) {
            /* A rest is told from a pause to within a tick. */
            w->lit[index] = w->dark[index] + passed >= WT_SHORTEST_REST ? passed : w->lit[index] + passed;
            w->dark[index] = 0;
            /* It is seen one tick late at most: the one that has just passed, not one long after. */
            must(w->lit[index] <= wt_output_longest(tables, index) * 100u + passed, "a heater is on beyond its limit");
        } else {
            w->dark[index] += passed;
        }
    }
    /* The self-test tries one switch of a line at a time: nothing flows. */
    w->outputs = c->state == WT_SELF_TEST ? 0u : outputs;
}

static void run(const wt_machine *machine, const uint8_t *image, uint16_t length, const uint8_t *script, size_t size,
    bool free_inputs) {
    static wt_controller controller;
    watch w;
    uint32_t now = 0xFFFFF000u;
    uint32_t ticks = 0;
    memset(&w, 0, sizeof w);
    w.controller = &controller;
    wt_start_up(&controller, machine);
    must(wt_load(&controller, image, length).reason == WT_OK, "an image passes on its own and not on its own machine");
    for (; size >= 4u && ticks < MOST_TICKS; script += 4, size -= 4u) {
        uint32_t passed = script[0] <= 100u ? script[0] : script[0] == 255u ? 5000u : 100u;
        uint16_t odd = (uint16_t)(script[1] | (uint16_t)(script[2] << 8));
        uint16_t count;
        for (count = 0; count <= script[3] && ticks < MOST_TICKS; count++, ticks++) {
            uint16_t logged = controller.logged;
            uint16_t given = free_inputs ? odd : (uint16_t)(contacts(&w, ticks) ^ odd);
            now += passed;
            look(&w, passed, wt_tick(&controller, now, given));
            for (; logged != controller.logged; logged++) {
                const wt_event *event = &controller.ring[logged % WT_RING];
                must(event->kind != WT_EVENT_FAULT || event->detail != WT_FAULT_BAD_PROGRAM,
                    "a program that was proved makes no sense");
                must(event->kind != WT_EVENT_FAULT || event->detail != WT_FAULT_IMAGE_CHANGED,
                    "a program has changed by itself");
            }
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static wt_image parts;
    uint8_t *image;
    size_t length;
    if (size < 9u) {
        return 0;
    }
    length = (size_t)wt_u16(data + 7);
    if (length > size - 1u || length > LONGEST) {
        length = size - 1u > LONGEST ? LONGEST : size - 1u;
    }
    image = exactly(data + 1, length);
    if ((data[0] & 1u) == 0u && length >= 47u) {
        repair(image, length);
    }
    if (wt_verify(image, (uint32_t)length, NULL, &parts).reason == WT_OK) {
        wt_machine machine;
        size_t from = (size_t)(parts.tables.outputs - image);
        size_t till = tables_of(image, length, &machine.tables);
        /* The machine's constants lie elsewhere than the image. */
        uint8_t *constants = exactly(image + from, till - from);
        machine.tables.outputs = constants;
        machine.tables.inputs = constants + (parts.tables.inputs - parts.tables.outputs);
        machine.tables.supplies = constants + (parts.tables.supplies - parts.tables.outputs);
        machine.bench = wt_u32(image + 24);
        machine.space = 0xFFFFu;
        run(&machine, image, (uint16_t)length, data + 1u + length, size - 1u - length, (data[0] & 2u) != 0u);
        free(constants);
    }
    free(image);
    return 0;
}
