/* Frames are those of RFC 1055 (SLIP) and end with CRC-16/IBM-3740; messages are those of grammar/program-format.md. */
#include "loader.h"

#include "hal.h"

enum { END = 0xC0, ESCAPE = 0xDB, ESCAPED_END = 0xDC, ESCAPED_ESCAPE = 0xDD };

/* An answer takes the place of the request in the frame: by then, nothing more is read from that. Kind and number come
   first; the number is the request's own. */
static void put(wt_loader *l, uint8_t byte) {
    if (l->count < WT_FRAME) {
        l->frame[l->count] = byte;
        l->count++;
    }
}

static void put16(wt_loader *l, uint16_t value) {
    put(l, (uint8_t)(value & 0xFFu));
    put(l, (uint8_t)(value >> 8));
}

static void put32(wt_loader *l, uint32_t value) {
    put16(l, (uint16_t)(value & 0xFFFFu));
    put16(l, (uint16_t)(value >> 16));
}

static void open_answer(wt_loader *l, uint8_t kind) {
    l->frame[0] = kind;
    l->count = 2;
}

static void error(wt_loader *l, uint8_t code) {
    open_answer(l, WT_ERROR);
    put(l, code);
}

/* Nothing is half received, and nothing is being sent. */
static void listen(wt_loader *l) {
    l->count = 0;
    l->escaped = false;
    l->overlong = false;
    l->summed = false;
    l->sending = WT_SILENT;
}

static uint16_t operand(const wt_loader *l, uint8_t at) {
    return (uint16_t)(l->frame[at] | (uint16_t)((uint16_t)l->frame[at + 1u] << 8));
}

static void hello(wt_loader *l) {
    const wt_controller *c = l->controller;
    const uint8_t *image = c->image.bytes;
    uint8_t index;
    uint8_t length = c->loaded ? wt_u8(image + 42) : 0u;
    open_answer(l, WT_HELLO | WT_ANSWER);
    put(l, WT_PROTOCOL);
    put16(l, WT_RUNTIME_VERSION);
    put32(l, c->machine->bench);
    put32(l, wt_tables_digest(&c->machine->tables));
    put16(l, c->machine->space);
    put(l, c->state);
    put(l, c->loaded ? 1u : 0u);
    for (index = 0; index < 16u; index++) {
        put(l, c->loaded ? wt_u8(image + 8 + index) : 0u);
    }
    put(l, length);
    for (index = 0; index < length; index++) {
        put(l, wt_u8(image + 43 + index));
    }
}

static void done(wt_loader *l, uint8_t kind) {
    open_answer(l, (uint8_t)(kind | WT_ANSWER));
}

/* The slot that is not the one in use; the one in use is never touched. */
static uint8_t spare(const wt_loader *l) {
    return l->active == 0u ? 1u : 0u;
}

static void begin(wt_loader *l) {
    uint16_t length = operand(l, 2);
    if (!wt_may_load(l->controller)) {
        error(l, WT_ERROR_BUSY);
    } else if (length > l->controller->machine->space) {
        error(l, WT_ERROR_TOO_LARGE);
    } else {
        /* Without its mark, whatever is half written into the slot does not count. */
        wt_hal_set_mark(spare(l), 0);
        l->loading = true;
        l->length = length;
        l->written = 0;
        done(l, WT_BEGIN);
    }
}

static void data(wt_loader *l, uint8_t count) {
    uint16_t offset = operand(l, 2);
    uint8_t size = (uint8_t)(count - 4u);
    if (!wt_may_load(l->controller)) {
        /* Somebody has pressed start meanwhile: writing takes longer than a tick may wait. */
        error(l, WT_ERROR_BUSY);
    } else if (!l->loading || size == 0u || size > WT_MOST_DATA) {
        error(l, WT_ERROR_ORDER);
    } else if ((uint32_t)offset + size == l->written) {
        /* The answer to it got lost: it is written already. */
        done(l, WT_DATA);
    } else if (offset != l->written || (uint32_t)offset + size > l->length) {
        error(l, WT_ERROR_ORDER);
    } else if (!wt_hal_write(spare(l), offset, l->frame + 4, size)) {
        l->loading = false;
        error(l, WT_ERROR_WRITE);
    } else {
        l->written = (uint16_t)(l->written + size);
        done(l, WT_DATA);
    }
}

static void commit(wt_loader *l) {
    wt_refusal refusal;
    uint8_t slot = spare(l);
    uint16_t mark = wt_hal_mark(l->active);
    if (!wt_may_load(l->controller)) {
        error(l, WT_ERROR_BUSY);
        return;
    }
    if (!l->loading || l->written != l->length) {
        error(l, WT_ERROR_ORDER);
        return;
    }
    l->loading = false;
    if (!wt_hal_finish(slot)) {
        error(l, WT_ERROR_WRITE);
        return;
    }
    refusal = wt_load(l->controller, wt_hal_slot(slot), l->length);
    if (refusal.reason == WT_OK) {
        /* The mark comes last; 0 means none, so that it is left out when marks wrap. */
        mark = (uint16_t)(mark + 1u);
        wt_hal_set_mark(slot, mark == 0u ? 1u : mark);
        l->active = slot;
    } else if (wt_hal_mark(l->active) != 0u) {
        const uint8_t *bytes = wt_hal_slot(l->active);
        (void)wt_load(l->controller, bytes, wt_u16(bytes + 6));
    }
    open_answer(l, WT_COMMIT | WT_ANSWER);
    put(l, refusal.reason);
    put16(l, refusal.offset);
}

static void read_back(wt_loader *l) {
    const wt_controller *c = l->controller;
    uint16_t offset = operand(l, 2);
    uint8_t count = l->frame[4];
    uint8_t index;
    if (!c->loaded || count > WT_MOST_DATA || (uint32_t)offset + count > c->image.length) {
        error(l, WT_ERROR_RANGE);
        return;
    }
    open_answer(l, WT_READ_BACK | WT_ANSWER);
    for (index = 0; index < count; index++) {
        put(l, wt_u8(c->image.bytes + offset + index));
    }
}

static void log_events(wt_loader *l) {
    const wt_controller *c = l->controller;
    uint16_t first = operand(l, 2);
    uint16_t behind = (uint16_t)(c->logged - first);
    uint8_t count;
    uint8_t index;
    if (behind > WT_RING) {
        first = c->logged >= WT_RING ? (uint16_t)(c->logged - WT_RING) : (uint16_t)0;
        behind = (uint16_t)(c->logged - first);
    }
    count = (uint8_t)(behind > 6u ? 6u : behind);
    open_answer(l, WT_LOG | WT_ANSWER);
    put16(l, c->logged);
    put16(l, first);
    put(l, count);
    for (index = 0; index < count; index++) {
        const wt_event *event = &c->ring[(uint16_t)(first + index) % WT_RING];
        put32(l, event->time);
        put(l, event->lane);
        put16(l, event->step);
        put(l, event->kind);
        put16(l, event->detail);
    }
}

static void tell_state(wt_loader *l) {
    open_answer(l, WT_STATE | WT_ANSWER);
    put(l, l->controller->state);
    put32(l, l->controller->now);
}

/* A frame is whole: `count` bytes without its check sum. */
static void answer(wt_loader *l, uint8_t count) {
    /* How many bytes each request has; data has more. */
    static const uint8_t sizes[8] = {0, 2, 4, 5, 2, 5, 4, 2};
    uint8_t kind = l->frame[0];
    if (kind < WT_HELLO || kind > WT_STATE || (kind == WT_DATA ? count < 5u : count != sizes[kind])) {
        error(l, WT_ERROR_UNKNOWN);
        return;
    }
    switch (kind) {
    case WT_HELLO:
        hello(l);
        break;
    case WT_BEGIN:
        begin(l);
        break;
    case WT_DATA:
        data(l, count);
        break;
    case WT_COMMIT:
        commit(l);
        break;
    case WT_READ_BACK:
        read_back(l);
        break;
    case WT_LOG:
        log_events(l);
        break;
    default:
        tell_state(l);
        break;
    }
}

void wt_loader_start(wt_loader *loader, wt_controller *controller) {
    uint16_t marks[WT_SLOTS];
    uint8_t newest;
    uint8_t tried;
    loader->controller = controller;
    loader->loading = false;
    listen(loader);
    marks[0] = wt_hal_mark(0);
    marks[1] = wt_hal_mark(1);
    /* Marks count up and wrap: the newer one is the one less than half the way ahead. */
    newest = marks[1] != 0u && (marks[0] == 0u || (uint16_t)(marks[1] - marks[0]) < 0x8000u) ? 1u : 0u;
    loader->active = newest;
    for (tried = 0; tried < WT_SLOTS; tried++) {
        uint8_t slot = (uint8_t)((newest + tried) % WT_SLOTS);
        const uint8_t *bytes = wt_hal_slot(slot);
        uint16_t length = wt_u16(bytes + 6);
        if (marks[slot] != 0u && length <= controller->machine->space
            && wt_load(controller, bytes, length).reason == WT_OK) {
            loader->active = slot;
            return;
        }
    }
}

/* A frame has come: `count` bytes with its check sum. */
static void whole(wt_loader *l) {
    uint16_t crc = wt_crc16_start();
    uint8_t body = (uint8_t)(l->count - 2u);
    uint8_t at;
    if (l->overlong || l->count < 4u) {
        return;
    }
    for (at = 0; at < body; at++) {
        crc = wt_crc16_more(crc, l->frame[at]);
    }
    /* What is damaged on the way is not answered: whoever has asked asks again. */
    if (operand(l, body) == crc) {
        answer(l, body);
        l->crc = wt_crc16_start();
        l->sent = 0;
        l->escaped = false;
        l->sending = WT_OPENS;
    }
}

void wt_loader_byte(wt_loader *l, uint8_t byte) {
    /* Whoever asks waits for the answer: what comes before it is out is noise. */
    if (l->sending != WT_SILENT) {
        return;
    }
    if (byte == END) {
        whole(l);
        if (l->sending == WT_SILENT) {
            listen(l);
        }
        return;
    }
    if (byte == ESCAPE) {
        l->escaped = true;
        return;
    }
    if (l->escaped) {
        l->escaped = false;
        byte = byte == ESCAPED_END ? (uint8_t)END : byte == ESCAPED_ESCAPE ? (uint8_t)ESCAPE : byte;
    }
    if (l->count >= WT_FRAME) {
        l->overlong = true;
        return;
    }
    l->frame[l->count] = byte;
    l->count++;
}

bool wt_loader_next(wt_loader *l, uint8_t *byte) {
    switch (l->sending) {
    case WT_OPENS:
        *byte = END;
        l->sending = WT_BODY;
        return true;
    case WT_BODY:
        break;
    case WT_CLOSES:
        *byte = END;
        listen(l);
        return true;
    default:
        return false;
    }
    *byte = l->frame[l->sent];
    if (l->escaped) {
        *byte = *byte == END ? (uint8_t)ESCAPED_END : (uint8_t)ESCAPED_ESCAPE;
        l->escaped = false;
    } else if (*byte == END || *byte == ESCAPE) {
        *byte = ESCAPE;
        l->escaped = true;
        return true;
    }
    /* The check sum follows in the place of the bytes that are out already. */
    if (!l->summed) {
        l->crc = wt_crc16_more(l->crc, l->frame[l->sent]);
    }
    l->sent++;
    if (l->sent == l->count && !l->summed) {
        l->frame[0] = (uint8_t)(l->crc & 0xFFu);
        l->frame[1] = (uint8_t)(l->crc >> 8);
        l->sent = 0;
        l->count = 2;
        l->summed = true;
    } else if (l->sent == l->count) {
        l->sending = WT_CLOSES;
    }
    return true;
}
