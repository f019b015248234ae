/* The proof that a lane can do no harm, in one pass. The rules and their order are those of
   grammar/program-format.md. */
#include "verify.h"

enum { PLAIN, BEGUN, HEATING, BENDING };

typedef struct {
    const wt_image *image;
    wt_code code;
    uint16_t at;
    uint16_t next;
    uint8_t phase;
    uint8_t depth;
    uint8_t live;
    uint8_t used;
    uint8_t due;
    uint8_t supply;
    uint8_t switched;
    uint16_t amount;
    uint32_t on[WT_MOST_OUTPUTS];
    uint32_t from;
    uint32_t lasts;
    uint32_t shortest;
    uint32_t longest;
    uint32_t transfer;
} walk;

bool wt_decode(const wt_image *image, wt_code code, uint16_t at, wt_instruction *instruction) {
    static const wt_instruction nothing = {0, 0, 0, 0, 0, 0, 0};
    uint32_t place = (uint32_t)code.from + at;
    const uint8_t *from;
    *instruction = nothing;
    /* What lies behind the image is not read, whatever is said of the lane. */
    if (at >= code.length || place >= image->length) {
        return false;
    }
    from = image->bytes + place;
    instruction->operation = wt_u8(from);
    switch (instruction->operation) {
    case WT_OP_END:
    case WT_OP_AGAIN:
    case WT_OP_SCRAP:
        instruction->size = 1;
        break;
    case WT_OP_CALL:
    case WT_OP_OFF:
    case WT_OP_WAIT_ROW:
    case WT_OP_FAULT:
        instruction->size = 2;
        break;
    case WT_OP_STEP:
    case WT_OP_ON:
    case WT_OP_REPEAT:
    case WT_OP_ENOUGH:
    case WT_OP_SKIP:
        instruction->size = 3;
        break;
    case WT_OP_WAIT:
        instruction->size = 4;
        break;
    case WT_OP_AWAIT:
        instruction->size = 8;
        break;
    case WT_OP_BEGIN:
        instruction->size = 10;
        break;
    default:
        return false;
    }
    if ((uint32_t)at + instruction->size > code.length || place + instruction->size > image->length) {
        return false;
    }
    switch (instruction->operation) {
    case WT_OP_STEP:
    case WT_OP_REPEAT:
    case WT_OP_ENOUGH:
    case WT_OP_SKIP:
        instruction->amount = wt_u16(from + 1);
        break;
    case WT_OP_CALL:
    case WT_OP_OFF:
    case WT_OP_WAIT_ROW:
    case WT_OP_FAULT:
        instruction->one = wt_u8(from + 1);
        break;
    case WT_OP_ON:
        instruction->one = wt_u8(from + 1);
        instruction->two = wt_u8(from + 2);
        break;
    case WT_OP_WAIT:
        instruction->time = wt_u24(from + 1);
        break;
    case WT_OP_AWAIT:
        instruction->one = wt_u8(from + 1);
        instruction->two = wt_u8(from + 2);
        instruction->time = wt_u24(from + 3);
        instruction->amount = wt_u16(from + 6);
        break;
    case WT_OP_BEGIN:
        instruction->one = wt_u8(from + 1);
        instruction->amount = wt_u16(from + 2);
        instruction->time = wt_u24(from + 4);
        instruction->lasts = wt_u24(from + 7);
        break;
    default:
        break;
    }
    return true;
}

static uint8_t bit_of(uint8_t output) {
    return output < 8u ? (uint8_t)(1u << output) : 0u;
}

/* What may only be done while nothing heats and no bend is awaited. */
static uint8_t plain(const walk *w) {
    if (w->phase == PLAIN) {
        return WT_OK;
    }
    return w->phase == BENDING ? WT_NO_BEND : WT_IN_HEAT;
}

/* Whether a jump from here lands on an instruction further on, in the same turn of the same loop, outside every heat
   and the bends that end it. Right behind an await it does not. */
static bool lands(const walk *w, uint16_t target, bool open) {
    uint16_t at = w->next;
    uint16_t depth = 0;
    uint8_t live = 0;
    bool heating = false;
    wt_instruction i;
    while (at < target) {
        if (!wt_decode(w->image, w->code, at, &i)) {
            return false;
        }
        switch (i.operation) {
        case WT_OP_BEGIN:
            open = false;
            heating = true;
            live = 0;
            break;
        case WT_OP_ON:
            live = (uint8_t)(live | bit_of(i.one));
            break;
        case WT_OP_OFF:
            live = (uint8_t)(live & (uint8_t)~bit_of(i.one));
            heating = heating && live != 0u;
            break;
        case WT_OP_STEP:
        case WT_OP_CALL:
        case WT_OP_AWAIT:
            break;
        case WT_OP_REPEAT:
            depth++;
            open = open || !heating;
            break;
        case WT_OP_AGAIN:
            if (depth == 0u) {
                return false;
            }
            depth--;
            open = open || !heating;
            break;
        default:
            open = open || !heating;
            break;
        }
        at = (uint16_t)(at + i.size);
    }
    return at == target && at < w->code.length && depth == 0u && open;
}

/* Whether what stands at an offset says that the part is spoilt, or stops everything. */
static bool gives_up(const walk *w, uint16_t at) {
    wt_instruction i;
    while (wt_decode(w->image, w->code, at, &i)) {
        if (i.operation == WT_OP_SCRAP || i.operation == WT_OP_FAULT) {
            return true;
        }
        if (i.operation != WT_OP_STEP && i.operation != WT_OP_CALL) {
            return false;
        }
        at = (uint16_t)(at + i.size);
    }
    return false;
}

static uint8_t on(walk *w, uint8_t output, uint8_t level) {
    const wt_tables *tables = &w->image->tables;
    uint32_t drawn = 0;
    uint8_t index;
    if (w->phase != BEGUN && w->phase != HEATING) {
        return WT_NOT_BEGUN;
    }
    if (!wt_is_heater(tables, output)) {
        return WT_INDEX;
    }
    if (wt_is_relay(tables, output) && level != 0u && level != 255u) {
        return WT_LEVEL;
    }
    if ((w->live & bit_of(output)) != 0u) {
        return WT_OK;
    }
    if ((w->used & bit_of(output)) != 0u) {
        return WT_ON_AGAIN;
    }
    w->live = (uint8_t)(w->live | bit_of(output));
    w->used = (uint8_t)(w->used | bit_of(output));
    w->switched = (uint8_t)(w->switched | bit_of(output));
    for (index = 0; index < tables->output_count; index++) {
        if ((w->live & bit_of(index)) != 0u) {
            drawn += wt_output_draw(tables, index);
        }
    }
    w->phase = HEATING;
    return wt_output_supply(tables, output) == w->supply && drawn <= w->amount ? WT_OK : WT_CLAIM_TOO_SMALL;
}

static uint8_t off(walk *w, uint8_t output) {
    const wt_tables *tables = &w->image->tables;
    uint8_t heater;
    if (!wt_is_heater(tables, output)) {
        return WT_INDEX;
    }
    if (w->phase != HEATING || (w->live & bit_of(output)) == 0u) {
        return WT_NOT_ON;
    }
    w->live = (uint8_t)(w->live & (uint8_t)~bit_of(output));
    if (w->live != 0u) {
        return WT_OK;
    }
    /* A heat during which the operator stays throughout is a warm-up: nothing is bent after it. */
    if (w->from == 0u && w->lasts >= w->longest) {
        w->phase = PLAIN;
        return WT_OK;
    }
    if (w->from > w->shortest) {
        return WT_RESERVATION;
    }
    for (heater = 0; heater < 8u; heater++) {
        if ((w->used & bit_of(heater)) != 0u && !wt_has_input(tables, WT_DOWN, heater)) {
            return WT_NO_DOWN_SWITCH;
        }
    }
    w->due = w->used;
    w->transfer = 0;
    w->phase = BENDING;
    return WT_OK;
}

static uint8_t wait(walk *w, uint32_t shortest, uint32_t longest) {
    uint8_t output;
    if (w->phase != HEATING) {
        return plain(w);
    }
    w->shortest += shortest;
    w->longest += longest;
    for (output = 0; output < w->image->tables.output_count; output++) {
        if ((w->live & bit_of(output)) != 0u) {
            w->on[output] += longest;
            if (w->on[output] > (uint32_t)wt_output_longest(&w->image->tables, output) * 100u) {
                return WT_TOO_LONG;
            }
        }
    }
    return WT_OK;
}

static uint8_t wait_row(walk *w, uint8_t table) {
    uint32_t shortest = 0xFFFFFFFFu;
    uint32_t longest = 0;
    uint8_t row;
    if (table >= w->image->table_count) {
        return WT_INDEX;
    }
    for (row = 0; row < w->image->row_count; row++) {
        uint32_t time = wt_row_time(w->image, table, row);
        shortest = time < shortest ? time : shortest;
        longest = time > longest ? time : longest;
    }
    return wait(w, shortest, longest);
}

static uint8_t wait_for(walk *w, const wt_instruction *i) {
    const wt_tables *tables = &w->image->tables;
    uint8_t role;
    uint8_t bit;
    if (w->phase != BENDING && plain(w) != WT_OK) {
        return plain(w);
    }
    role = i->one < tables->input_count ? wt_input_role(tables, i->one) : 0u;
    if (role != WT_DOWN && role != WT_HOME) {
        return WT_INDEX;
    }
    if (i->two > 1u) {
        return WT_LEVEL;
    }
    if (!lands(w, i->amount, false)) {
        return WT_JUMP;
    }
    if (w->phase == PLAIN) {
        return WT_OK;
    }
    bit = bit_of(wt_input_subject(tables, i->one));
    if (role != WT_DOWN || i->two != 1u || (w->due & bit) == 0u || !gives_up(w, i->amount)) {
        return WT_NO_BEND;
    }
    w->due = (uint8_t)(w->due & (uint8_t)~bit);
    w->transfer = i->time > w->transfer ? i->time : w->transfer;
    if (w->due == 0u) {
        w->phase = PLAIN;
        return w->from + w->lasts >= w->longest + w->transfer ? WT_OK : WT_RESERVATION;
    }
    return WT_OK;
}

static void begin(walk *w, const wt_instruction *i) {
    uint8_t output;
    w->supply = i->one;
    w->amount = i->amount;
    w->from = i->time;
    w->lasts = i->lasts;
    w->live = 0;
    w->used = 0;
    w->shortest = 0;
    w->longest = 0;
    for (output = 0; output < WT_MOST_OUTPUTS; output++) {
        w->on[output] = 0;
    }
    w->phase = BEGUN;
}

/* What may only be done while nothing heats and no bend is awaited. */
static uint8_t at_rest(walk *w, const wt_instruction *i) {
    wt_instruction following;
    uint8_t reason = plain(w);
    if (reason != WT_OK) {
        return reason;
    }
    switch (i->operation) {
    case WT_OP_END:
        return w->depth == 0u && w->next == w->code.length ? WT_OK : WT_NOT_ENDED;
    case WT_OP_BEGIN:
        if (i->one >= w->image->tables.supply_count) {
            return WT_INDEX;
        }
        if (i->amount > wt_supply_capacity(&w->image->tables, i->one)) {
            return WT_CLAIM_TOO_LARGE;
        }
        begin(w, i);
        return WT_OK;
    case WT_OP_REPEAT:
        if (w->depth >= WT_DEEPEST || i->amount == 0u) {
            return WT_LOOP;
        }
        w->depth++;
        return WT_OK;
    case WT_OP_AGAIN:
        if (w->depth == 0u) {
            return WT_LOOP;
        }
        w->depth--;
        return WT_OK;
    case WT_OP_ENOUGH:
        return w->depth == 1u && i->amount > 0u && wt_decode(w->image, w->code, w->next, &following)
                && following.operation == WT_OP_AGAIN
            ? WT_OK
            : WT_ENOUGH;
    case WT_OP_SKIP:
        return lands(w, i->amount, true) ? WT_OK : WT_JUMP;
    case WT_OP_FAULT:
        return i->one >= WT_FIRST_PROGRAM_FAULT ? WT_OK : WT_INDEX;
    default:
        return WT_OK;
    }
}

static uint8_t step(walk *w, const wt_instruction *i) {
    switch (i->operation) {
    case WT_OP_STEP:
        return i->amount >= 1u && i->amount <= w->image->steps ? WT_OK : WT_INDEX;
    case WT_OP_CALL:
        return i->one < w->image->call_count ? WT_OK : WT_INDEX;
    case WT_OP_ON:
        return on(w, i->one, i->two);
    case WT_OP_OFF:
        return off(w, i->one);
    case WT_OP_WAIT:
        return wait(w, i->time, i->time);
    case WT_OP_WAIT_ROW:
        return wait_row(w, i->one);
    case WT_OP_AWAIT:
        return wait_for(w, i);
    default:
        return at_rest(w, i);
    }
}

wt_refusal wt_verify_lane(const wt_image *image, wt_code code, uint8_t *switched) {
    walk w = {0};
    wt_instruction i;
    w.image = image;
    w.code = code;
    w.phase = PLAIN;
    while (w.at < code.length) {
        uint8_t reason;
        if (!wt_decode(image, code, w.at, &i)) {
            return wt_refuse(WT_UNKNOWN, (uint32_t)code.from + w.at);
        }
        w.next = (uint16_t)(w.at + i.size);
        reason = step(&w, &i);
        if (reason != WT_OK) {
            return wt_refuse(reason, (uint32_t)code.from + w.at);
        }
        if (i.operation == WT_OP_END) {
            *switched = w.switched;
            return wt_refuse(WT_OK, 0);
        }
        w.at = w.next;
    }
    return wt_refuse(WT_NOT_ENDED, (uint32_t)code.from + w.at);
}
