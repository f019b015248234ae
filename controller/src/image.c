/* Where the parts of an image lie. Everything but the code of the lanes is checked here. */
#include "image.h"

#include "verify.h"

enum { HEADER = 43, TRAILER = 4, OUTPUT = 8, INPUT = 5, ROW = 5 };
enum { LONGEST_NAME = 20, LONGEST_CALL = 60, MOST_CALLS = 64, MOST_TABLES = 4, MOST_ROWS = 16 };

uint8_t wt_u8(const uint8_t *from) {
    return (uint8_t)WT_READ(from);
}

uint16_t wt_u16(const uint8_t *from) {
    return (uint16_t)(wt_u8(from) | (uint16_t)((uint16_t)wt_u8(from + 1) << 8));
}

uint32_t wt_u24(const uint8_t *from) {
    return (uint32_t)wt_u16(from) | ((uint32_t)wt_u8(from + 2) << 16);
}

uint32_t wt_u32(const uint8_t *from) {
    return wt_u24(from) | ((uint32_t)wt_u8(from + 3) << 24);
}

uint8_t wt_output_role(const wt_tables *tables, uint8_t output) {
    return wt_u8(tables->outputs + OUTPUT * output + 1);
}

static uint8_t output_switch(const wt_tables *tables, uint8_t output) {
    return wt_u8(tables->outputs + OUTPUT * output + 2);
}

uint8_t wt_output_supply(const wt_tables *tables, uint8_t output) {
    return wt_u8(tables->outputs + OUTPUT * output + 3);
}

uint16_t wt_output_longest(const wt_tables *tables, uint8_t output) {
    return wt_u16(tables->outputs + OUTPUT * output + 4);
}

uint16_t wt_output_draw(const wt_tables *tables, uint8_t output) {
    return wt_u16(tables->outputs + OUTPUT * output + 6);
}

bool wt_is_heater(const wt_tables *tables, uint8_t output) {
    return output < tables->output_count && wt_output_role(tables, output) == WT_HEATER;
}

bool wt_is_relay(const wt_tables *tables, uint8_t output) {
    return output_switch(tables, output) == WT_RELAY;
}

uint8_t wt_input_role(const wt_tables *tables, uint8_t input) {
    return wt_u8(tables->inputs + INPUT * input + 1);
}

uint8_t wt_input_subject(const wt_tables *tables, uint8_t input) {
    return wt_u8(tables->inputs + INPUT * input + 2);
}

bool wt_input_normally_closed(const wt_tables *tables, uint8_t input) {
    return wt_u8(tables->inputs + INPUT * input + 3) == 1u;
}

uint8_t wt_input_debounce(const wt_tables *tables, uint8_t input) {
    return wt_u8(tables->inputs + INPUT * input + 4);
}

uint16_t wt_supply_capacity(const wt_tables *tables, uint8_t supply) {
    return wt_u16(tables->supplies + 2 * supply);
}

bool wt_has_input(const wt_tables *tables, uint8_t role, uint8_t subject) {
    uint8_t input;
    for (input = 0; input < tables->input_count; input++) {
        if (wt_input_role(tables, input) == role && wt_input_subject(tables, input) == subject) {
            return true;
        }
    }
    return false;
}

static uint32_t crc32_byte(uint32_t crc, uint8_t byte) {
    uint8_t bit;
    crc ^= byte;
    for (bit = 0; bit < 8; bit++) {
        crc = (crc & 1u) != 0u ? (crc >> 1) ^ 0xEDB88320u : crc >> 1;
    }
    return crc;
}

uint32_t wt_tables_digest(const wt_tables *tables) {
    uint32_t crc = wt_crc32_start();
    uint8_t output;
    crc = crc32_byte(crc, tables->operators);
    crc = crc32_byte(crc, tables->output_count);
    crc = crc32_byte(crc, tables->input_count);
    crc = crc32_byte(crc, tables->supply_count);
    for (output = 0; output < tables->output_count; output++) {
        /* Limits of time are no part of it: a program may ask for less than the controller allows. */
        crc = wt_crc32_more(crc, tables->outputs + OUTPUT * output, 4);
        crc = wt_crc32_more(crc, tables->outputs + OUTPUT * output + 6, 2);
    }
    crc = wt_crc32_more(crc, tables->inputs, (uint16_t)(INPUT * tables->input_count));
    crc = wt_crc32_more(crc, tables->supplies, (uint16_t)(2 * tables->supply_count));
    return wt_crc32_end(crc);
}

void wt_machine_tables(const uint8_t *bytes, wt_tables *tables) {
    tables->operators = wt_u8(bytes);
    tables->output_count = wt_u8(bytes + 1);
    tables->input_count = wt_u8(bytes + 2);
    tables->supply_count = wt_u8(bytes + 3);
    tables->outputs = bytes + 4;
    tables->inputs = tables->outputs + OUTPUT * tables->output_count;
    tables->supplies = tables->inputs + INPUT * tables->input_count;
}

uint32_t wt_row_time(const wt_image *image, uint8_t table, uint8_t row) {
    uint16_t at = (uint16_t)(image->rows + (uint16_t)table * (uint16_t)(1 + ROW * image->row_count));
    return wt_u24(image->bytes + at + 1 + ROW * row + 2);
}

static bool between(uint8_t value, uint8_t least, uint8_t most) {
    return value >= least && value <= most;
}

wt_refusal wt_refuse(uint8_t reason, uint32_t offset) {
    wt_refusal refusal;
    refusal.reason = reason;
    refusal.offset = (uint16_t)(offset > 0xFFFFu ? 0xFFFFu : offset);
    return refusal;
}

/* Whether a text with its length before it is sound; moves `at` behind it. */
static wt_refusal read_text(const uint8_t *bytes, uint16_t end, uint16_t *at, uint8_t longest) {
    uint16_t from = *at;
    uint8_t length;
    uint8_t index;
    if (from >= end) {
        return wt_refuse(WT_LENGTH, from);
    }
    length = wt_u8(bytes + from);
    if (!between(length, 1, longest)) {
        return wt_refuse(WT_TEXT, from);
    }
    if ((uint32_t)from + 1u + length > end) {
        return wt_refuse(WT_LENGTH, (uint32_t)from + 1u);
    }
    for (index = 1; index <= length; index++) {
        uint8_t byte = wt_u8(bytes + from + index);
        if (byte < 0x20u || byte == 0x7Fu) {
            return wt_refuse(WT_TEXT, from);
        }
    }
    *at = (uint16_t)(from + 1u + length);
    return wt_refuse(WT_OK, 0);
}

static bool output_is_sound(const wt_tables *tables, uint8_t output) {
    uint8_t role = wt_output_role(tables, output);
    uint8_t kind = output_switch(tables, output);
    uint8_t supply = wt_output_supply(tables, output);
    bool heater = role == WT_HEATER;
    if (!between(role, WT_HEATER, WT_BUZZER) || kind > WT_RELAY) {
        return false;
    }
    return heater == (kind != WT_NO_SWITCH) && heater == (wt_output_longest(tables, output) > 0u)
        && heater == (wt_output_draw(tables, output) > 0u)
        && (heater || role == WT_ISOLATOR ? supply < tables->supply_count : supply == 0u);
}

static bool input_is_sound(const wt_tables *tables, uint8_t input) {
    uint8_t role = wt_input_role(tables, input);
    uint8_t subject = wt_input_subject(tables, input);
    bool belongs;
    if (!between(role, WT_START, WT_GUARD) || wt_u8(tables->inputs + INPUT * input + 3) > 1u) {
        return false;
    }
    if (role == WT_DOWN || role == WT_HOME || role == WT_HEATER_CURRENT) {
        belongs = wt_is_heater(tables, subject);
    } else if (role == WT_SUPPLY_CURRENT) {
        belongs = subject < tables->supply_count;
    } else {
        belongs = subject == 0u;
    }
    return belongs && between(wt_input_debounce(tables, input), 1, 100);
}

static wt_refusal read_tables(const uint8_t *bytes, uint16_t end, uint16_t *at, wt_tables *tables) {
    uint16_t from = *at;
    uint8_t index;
    tables->outputs = bytes + from;
    for (index = 0; index < tables->output_count; index++, from = (uint16_t)(from + OUTPUT)) {
        if ((uint32_t)from + OUTPUT > end) {
            return wt_refuse(WT_LENGTH, from);
        }
        if (!output_is_sound(tables, index)) {
            return wt_refuse(WT_OUTPUT_TABLE, from);
        }
    }
    *at = from;
    tables->inputs = bytes + from;
    for (index = 0; index < tables->input_count; index++, from = (uint16_t)(from + INPUT)) {
        if ((uint32_t)from + INPUT > end) {
            return wt_refuse(WT_LENGTH, from);
        }
        if (!input_is_sound(tables, index)) {
            return wt_refuse(WT_INPUT_TABLE, from);
        }
    }
    if (!wt_has_input(tables, WT_START, 0) || !wt_has_input(tables, WT_STOP, 0)) {
        return wt_refuse(WT_INPUT_TABLE, *at);
    }
    tables->supplies = bytes + from;
    for (index = 0; index < tables->supply_count; index++, from = (uint16_t)(from + 2u)) {
        if ((uint32_t)from + 2u > end) {
            return wt_refuse(WT_LENGTH, from);
        }
        if (wt_supply_capacity(tables, index) == 0u) {
            return wt_refuse(WT_SUPPLY_TABLE, from);
        }
    }
    *at = from;
    return wt_refuse(WT_OK, 0);
}

static wt_refusal read_rows(wt_image *image, uint16_t end, uint16_t *at) {
    uint16_t from = *at;
    uint8_t table;
    uint8_t row;
    image->rows = from;
    image->row_count = 0;
    for (table = 0; table < image->table_count; table++) {
        uint16_t begin = from;
        uint8_t count;
        if (from >= end) {
            return wt_refuse(WT_LENGTH, from);
        }
        count = wt_u8(image->bytes + from);
        from++;
        if (count < 1u || count > MOST_ROWS || (table > 0u && count != image->row_count)) {
            return wt_refuse(WT_ROW_TABLE, begin);
        }
        image->row_count = count;
        for (row = 0; row < count; row++, from = (uint16_t)(from + ROW)) {
            /* The bytes are missed one after the other: thickness as a whole, then the time. */
            if ((uint32_t)from + ROW > end) {
                return wt_refuse(WT_LENGTH, from);
            }
            if (wt_u24(image->bytes + from + 2) == 0u) {
                return wt_refuse(WT_ROW_TABLE, from);
            }
        }
    }
    *at = from;
    return wt_refuse(WT_OK, 0);
}

static wt_refusal read_lanes(wt_image *image, uint16_t end, uint16_t at) {
    uint8_t lane;
    for (lane = 0; lane < image->lane_count; lane++) {
        uint16_t length;
        if ((uint32_t)at + 2u > end) {
            return wt_refuse(WT_LENGTH, at);
        }
        length = wt_u16(image->bytes + at);
        if (length == 0u || (uint32_t)at + 2u + length > end) {
            return wt_refuse(WT_LANE_LENGTH, at);
        }
        image->lanes[lane].from = (uint16_t)(at + 2u);
        image->lanes[lane].length = length;
        at = (uint16_t)(at + 2u + length);
    }
    return at == end ? wt_refuse(WT_OK, 0) : wt_refuse(WT_LANE_LENGTH, at);
}

static wt_refusal read_counts(const uint8_t *bytes, wt_image *image) {
    /* Least and most of: verdict, operators, outputs, inputs, supplies, calls, tables, lanes. */
    static const uint8_t least[8] = {1, 1, 1, 1, 1, 0, 0, 1};
    static const uint8_t most[8] = {
        2, 8, WT_MOST_OUTPUTS, WT_MOST_INPUTS, WT_MOST_SUPPLIES, MOST_CALLS, MOST_TABLES, WT_MOST_LANES};
    uint8_t counts[8];
    uint8_t index;
    for (index = 0; index < 8u; index++) {
        uint8_t count = wt_u8(bytes + 32 + index);
        if (count < least[index] || count > most[index]) {
            return wt_refuse(WT_HEADER, 32u + index);
        }
        counts[index] = count;
    }
    image->tables.operators = counts[1];
    image->tables.output_count = counts[2];
    image->tables.input_count = counts[3];
    image->tables.supply_count = counts[4];
    image->call_count = counts[5];
    image->table_count = counts[6];
    image->lane_count = counts[7];
    image->steps = wt_u16(bytes + 40);
    return wt_refuse(WT_OK, 0);
}

static bool is_magic(const uint8_t *bytes) {
    return wt_u8(bytes) == 'W' && wt_u8(bytes + 1) == 'T' && wt_u8(bytes + 2) == 'H' && wt_u8(bytes + 3) == 'Y';
}

static wt_refusal read_image(const uint8_t *bytes, uint32_t length, wt_image *image) {
    wt_refusal refusal;
    uint16_t end;
    uint16_t at = HEADER - 1;
    uint8_t call;
    if (length < HEADER + TRAILER) {
        return wt_refuse(length >= 4u && !is_magic(bytes) ? WT_MAGIC : WT_LENGTH, 0);
    }
    if (!is_magic(bytes)) {
        return wt_refuse(WT_MAGIC, 0);
    }
    if (wt_u16(bytes + 4) != 1u) {
        return wt_refuse(WT_VERSION, 4);
    }
    if (wt_u16(bytes + 6) != length) {
        return wt_refuse(WT_LENGTH, 6);
    }
    end = (uint16_t)(length - TRAILER);
    if (wt_crc32_end(wt_crc32_more(wt_crc32_start(), bytes, end)) != wt_u32(bytes + end)) {
        return wt_refuse(WT_CHECK_SUM, end);
    }
    image->bytes = bytes;
    image->length = (uint16_t)length;
    refusal = read_counts(bytes, image);
    if (refusal.reason == WT_OK) {
        refusal = read_text(bytes, end, &at, LONGEST_NAME);
    }
    if (refusal.reason == WT_OK) {
        refusal = read_tables(bytes, end, &at, &image->tables);
    }
    if (refusal.reason != WT_OK) {
        return refusal;
    }
    if (wt_tables_digest(&image->tables) != wt_u32(bytes + 28)) {
        return wt_refuse(WT_OTHER_WIRING, 28);
    }
    image->calls = at;
    for (call = 0; call < image->call_count; call++) {
        refusal = read_text(bytes, end, &at, LONGEST_CALL);
        if (refusal.reason != WT_OK) {
            return refusal;
        }
    }
    refusal = read_rows(image, end, &at);
    return refusal.reason != WT_OK ? refusal : read_lanes(image, end, at);
}

static wt_refusal fits(const wt_image *image, const wt_machine *machine) {
    uint8_t output;
    if (image->length > machine->space) {
        return wt_refuse(WT_TOO_LARGE, 6);
    }
    if (wt_u32(image->bytes + 24) != machine->bench) {
        return wt_refuse(WT_OTHER_BENCH, 24);
    }
    if (wt_tables_digest(&machine->tables) != wt_u32(image->bytes + 28)
        || image->tables.output_count != machine->tables.output_count) {
        return wt_refuse(WT_OTHER_WIRING, 28);
    }
    for (output = 0; output < image->tables.output_count; output++) {
        if (wt_output_longest(&image->tables, output) > wt_output_longest(&machine->tables, output)) {
            return wt_refuse(
                WT_LIMIT_RAISED, (uint32_t)(image->tables.outputs - image->bytes) + (uint32_t)OUTPUT * output);
        }
    }
    return wt_refuse(WT_OK, 0);
}

wt_refusal wt_verify(const uint8_t *bytes, uint32_t length, const wt_machine *machine, wt_image *image) {
    wt_refusal refusal = read_image(bytes, length, image);
    uint8_t switched = 0;
    uint8_t lane;
    if (refusal.reason == WT_OK && machine != NULL) {
        refusal = fits(image, machine);
    }
    for (lane = 0; refusal.reason == WT_OK && lane < image->lane_count; lane++) {
        uint8_t own = 0;
        refusal = wt_verify_lane(image, image->lanes[lane], &own);
        if (refusal.reason == WT_OK && (switched & own) != 0u) {
            refusal = wt_refuse(WT_SHARED, image->lanes[lane].from);
        }
        switched = (uint8_t)(switched | own);
    }
    return refusal;
}
