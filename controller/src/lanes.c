/* What the lanes of a program do. */
#include "rules.h"

enum { GO, STAY, BAD };

static uint8_t bit_of(uint8_t output) {
    return (uint8_t)(1u << (output % WT_MOST_OUTPUTS));
}

/* The heaters that are switched on between a begin and the end of its heat. */
static bool heaters_of_heat(const wt_controller *c, wt_code code, uint16_t at, uint8_t *used) {
    uint8_t live = 0;
    wt_instruction i;
    *used = 0;
    while (wt_decode(&c->image, code, at, &i)) {
        if ((i.operation == WT_OP_ON || i.operation == WT_OP_OFF) && !wt_is_heater(&c->machine->tables, i.one)) {
            return false;
        }
        if (i.operation == WT_OP_ON) {
            live = (uint8_t)(live | bit_of(i.one));
            *used = (uint8_t)(*used | live);
        } else if (i.operation == WT_OP_OFF) {
            live = (uint8_t)(live & (uint8_t)~bit_of(i.one));
            if (live == 0u) {
                return true;
            }
        }
        at = (uint16_t)(at + i.size);
    }
    return false;
}

static bool may_begin(const wt_controller *c, uint8_t index, uint8_t heaters, const wt_instruction *i) {
    uint32_t claimed = i->amount;
    uint8_t busy = 0;
    uint8_t other;
    for (other = 0; other < WT_MOST_OUTPUTS; other++) {
        if ((heaters & bit_of(other)) != 0u && !wt_may_heat(c, other)) {
            return false;
        }
    }
    for (other = 0; other < WT_MOST_LANES; other++) {
        const wt_lane *lane = &c->lanes[other];
        if (other == index || !lane->active) {
            continue;
        }
        if (lane->supply == i->one) {
            claimed += lane->claim;
        }
        if (lane->reserved_from < i->time + i->lasts && i->time < lane->reserved_to) {
            busy++;
        }
    }
    return claimed <= wt_supply_capacity(&c->machine->tables, i->one) && busy < c->machine->tables.operators;
}

static bool needed(const wt_lane *lane) {
    return lane->active && lane->reserved_from == 0u && lane->reserved_to > 0u;
}

/* A call waits while the operators are needed elsewhere, unless it belongs to what they are needed for. */
static bool holds_back(const wt_controller *c, uint8_t index) {
    uint8_t busy = 0;
    uint8_t other;
    if (c->lanes[index].heats != 0u || needed(&c->lanes[index])) {
        return false;
    }
    for (other = 0; other < WT_MOST_LANES; other++) {
        if (other != index && needed(&c->lanes[other])) {
            busy++;
        }
    }
    return busy >= c->machine->tables.operators;
}

static bool take_press(wt_controller *c) {
    bool press = c->press;
    c->ready = true;
    c->press = false;
    return press;
}

static uint8_t begin(wt_controller *c, uint8_t index, uint16_t next, const wt_instruction *i) {
    wt_lane *lane = &c->lanes[index];
    uint8_t heaters;
    if (i->one >= c->machine->tables.supply_count
        || !heaters_of_heat(c, c->image.lanes[index], next, &heaters)) {
        return BAD;
    }
    if (!may_begin(c, index, heaters, i) || !take_press(c)) {
        return STAY;
    }
    lane->supply = i->one;
    lane->claim = i->amount;
    lane->reserved_from = i->time;
    lane->reserved_to = i->time + i->lasts;
    lane->mark = c->now;
    wt_log(c, index, WT_EVENT_BEGIN, i->amount);
    lane->at = next;
    return GO;
}

static uint8_t wait(wt_controller *c, wt_lane *lane, uint16_t next, uint32_t time) {
    if (c->now - lane->mark < time) {
        return STAY;
    }
    /* What a late tick has lost is not lost again: the next wait counts from when this one should have ended. */
    lane->mark += time;
    lane->at = next;
    return GO;
}

/* A row of awaits shares one beginning, so that arms that bend together have one time-out. */
static uint8_t wait_for(wt_controller *c, uint8_t index, uint16_t next, const wt_instruction *i) {
    wt_lane *lane = &c->lanes[index];
    bool seen;
    uint32_t waited;
    if (i->one >= c->machine->tables.input_count || i->amount < next) {
        return BAD;
    }
    seen = ((c->stable >> i->one & 1u) != 0u) == (i->two == 1u);
    if (!lane->awaits) {
        lane->awaits = true;
        lane->base = lane->mark;
    }
    waited = c->now - lane->base;
    if (seen && waited <= i->time) {
        lane->mark = c->now;
        lane->at = next;
        wt_log(c, index, WT_EVENT_MET, i->one);
        return GO;
    }
    if (waited < i->time) {
        return STAY;
    }
    lane->mark = c->now;
    lane->awaits = false;
    lane->at = i->amount;
    wt_log(c, index, WT_EVENT_LATE, i->one);
    return GO;
}

static uint8_t repeat(wt_lane *lane, uint16_t next, uint16_t count) {
    uint8_t depth = lane->depth;
    if (depth == 0u) {
        lane->good = 0;
    }
    if (depth >= WT_DEEPEST) {
        return BAD;
    }
    lane->loop_from[depth] = next;
    lane->loop_left[depth] = count;
    lane->depth = (uint8_t)(depth + 1u);
    lane->spoilt = false;
    lane->at = next;
    return GO;
}

static uint8_t again(wt_lane *lane, uint16_t next) {
    uint8_t depth = lane->depth;
    if (depth == 0u || depth > WT_DEEPEST) {
        return BAD;
    }
    depth--;
    lane->spoilt = false;
    if (lane->loop_left[depth] > 0u) {
        lane->loop_left[depth]--;
    }
    if (lane->loop_left[depth] > 0u) {
        lane->at = lane->loop_from[depth];
        return GO;
    }
    lane->depth = depth;
    lane->at = next;
    return GO;
}

static uint8_t enough(wt_controller *c, uint8_t index, uint16_t next, uint16_t count) {
    wt_lane *lane = &c->lanes[index];
    wt_instruction following;
    uint8_t depth = lane->depth;
    lane->at = next;
    if (!lane->spoilt) {
        lane->good = (uint16_t)(lane->good < 0xFFFFu ? lane->good + 1u : 0xFFFFu);
        wt_log(c, index, WT_EVENT_GOOD, lane->good);
    }
    if (lane->good < count) {
        return GO;
    }
    if (!wt_decode(&c->image, c->image.lanes[index], next, &following) || following.operation != WT_OP_AGAIN
        || depth == 0u) {
        return BAD;
    }
    lane->depth = (uint8_t)(depth - 1u);
    lane->at = (uint16_t)(next + following.size);
    return GO;
}

static uint8_t scrap(wt_controller *c, uint8_t index, uint16_t next) {
    wt_lane *lane = &c->lanes[index];
    if (!lane->held) {
        lane->held = true;
        lane->spoilt = true;
        lane->bad = (uint16_t)(lane->bad < 0xFFFFu ? lane->bad + 1u : 0xFFFFu);
        wt_log(c, index, WT_EVENT_SCRAP, lane->bad);
    }
    if (!take_press(c)) {
        return STAY;
    }
    lane->held = false;
    lane->mark = c->now;
    lane->at = next;
    return GO;
}

static uint8_t call(wt_controller *c, uint8_t index, uint16_t next, uint8_t number) {
    wt_lane *lane = &c->lanes[index];
    if (holds_back(c, index)) {
        lane->held = true;
        return STAY;
    }
    if (lane->held) {
        lane->held = false;
        lane->mark = c->now;
    }
    c->sounds = WT_SOUNDS;
    wt_log(c, index, WT_EVENT_CALL, number);
    lane->at = next;
    return GO;
}

static uint8_t switch_heater(wt_controller *c, uint8_t index, uint16_t next, const wt_instruction *i) {
    wt_lane *lane = &c->lanes[index];
    uint8_t output = i->one;
    if (output >= WT_HELD_OUTPUTS || !wt_is_heater(&c->machine->tables, output)) {
        return BAD;
    }
    if (i->operation == WT_OP_ON) {
        wt_switch_on(c, output, i->two);
        lane->heats = (uint8_t)(lane->heats | bit_of(output));
        wt_log(c, index, WT_EVENT_ON, (uint16_t)((uint16_t)((uint16_t)output << 8) | i->two));
    } else {
        wt_switch_off(c, output);
        lane->heats = (uint8_t)(lane->heats & (uint8_t)~bit_of(output));
        if (lane->heats == 0u) {
            lane->claim = 0;
        }
        wt_log(c, index, WT_EVENT_OFF, output);
    }
    lane->at = next;
    return GO;
}

static uint8_t one(wt_controller *c, uint8_t index) {
    wt_lane *lane = &c->lanes[index];
    wt_instruction i;
    uint16_t next;
    if (!wt_decode(&c->image, c->image.lanes[index], lane->at, &i)) {
        return BAD;
    }
    next = (uint16_t)(lane->at + i.size);
    if (i.operation != WT_OP_AWAIT && i.operation != WT_OP_STEP && i.operation != WT_OP_CALL) {
        lane->awaits = false;
    }
    switch (i.operation) {
    case WT_OP_END:
        lane->active = false;
        wt_log(c, index, WT_EVENT_LANE_END, 0);
        lane->at = next;
        return GO;
    case WT_OP_STEP:
        lane->step = i.amount;
        wt_log(c, index, WT_EVENT_STEP, i.amount);
        lane->at = next;
        return GO;
    case WT_OP_CALL:
        return call(c, index, next, i.one);
    case WT_OP_ON:
    case WT_OP_OFF:
        return switch_heater(c, index, next, &i);
    case WT_OP_BEGIN:
        return begin(c, index, next, &i);
    case WT_OP_WAIT:
        return wait(c, lane, next, i.time);
    case WT_OP_WAIT_ROW:
        if (i.one >= c->image.table_count || c->row >= c->image.row_count) {
            return BAD;
        }
        return wait(c, lane, next, wt_row_time(&c->image, i.one, c->row));
    case WT_OP_AWAIT:
        return wait_for(c, index, next, &i);
    case WT_OP_REPEAT:
        return repeat(lane, next, i.amount);
    case WT_OP_AGAIN:
        return again(lane, next);
    case WT_OP_ENOUGH:
        return enough(c, index, next, i.amount);
    case WT_OP_SKIP:
        if (i.amount < next) {
            return BAD;
        }
        lane->at = i.amount;
        return GO;
    case WT_OP_SCRAP:
        return scrap(c, index, next);
    default:
        /* Codes below are the controller's own: a program that has one has changed in memory. */
        if (i.one < WT_FIRST_PROGRAM_FAULT) {
            return BAD;
        }
        wt_fail(c, index, i.one);
        return STAY;
    }
}

void wt_run_lanes(wt_controller *c) {
    bool active = false;
    uint8_t index;
    uint8_t count;
    for (index = 0; index < c->image.lane_count; index++) {
        for (count = 0; count < WT_INSTRUCTIONS; count++) {
            uint8_t how;
            if (c->state != WT_RUNNING || !c->lanes[index].active) {
                break;
            }
            how = one(c, index);
            if (how == BAD) {
                wt_fail(c, index, WT_FAULT_BAD_PROGRAM);
            }
            if (how != GO) {
                break;
            }
        }
        active = active || c->lanes[index].active;
    }
    if (c->state == WT_RUNNING && !active) {
        c->state = WT_IDLE;
        wt_log(c, WT_NO_LANE, WT_EVENT_DONE, 0);
    }
}
