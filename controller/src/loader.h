/* The serial side: loads programs, reads them back, tells the log. It cannot start heat. */
#ifndef WITHY_LOADER_H
#define WITHY_LOADER_H

#include "run.h"

enum { WT_RUNTIME_VERSION = 1, WT_PROTOCOL = 1, WT_MOST_DATA = 64, WT_FRAME = 72 };

enum {
    WT_HELLO = 1,
    WT_BEGIN = 2,
    WT_DATA = 3,
    WT_COMMIT = 4,
    WT_READ_BACK = 5,
    WT_LOG = 6,
    WT_STATE = 7,
    WT_ANSWER = 0x80,
    WT_ERROR = 0xFF
};

enum {
    WT_ERROR_UNKNOWN = 1,
    WT_ERROR_BUSY = 2,
    WT_ERROR_TOO_LARGE = 3,
    WT_ERROR_ORDER = 4,
    WT_ERROR_RANGE = 5,
    WT_ERROR_WRITE = 6
};

/* What is being sent. */
enum { WT_SILENT, WT_OPENS, WT_BODY, WT_CLOSES };

typedef struct {
    wt_controller *controller;
    /* The request, then the answer. */
    uint8_t frame[WT_FRAME];
    uint8_t count;
    uint8_t sent;
    uint8_t sending;
    bool escaped;
    bool overlong;
    bool summed;
    bool loading;
    uint8_t active;
    uint16_t length;
    uint16_t written;
    uint16_t crc;
} wt_loader;

/* Finds the newest slot that is whole and passes every proof, and loads it. */
void wt_loader_start(wt_loader *loader, wt_controller *controller);

/* A byte has come. */
void wt_loader_byte(wt_loader *l, uint8_t byte);

/* The next byte that is to be sent; false if there is none. Whoever calls it never waits for the line, so that ticks
   come on time while an answer goes out. */
bool wt_loader_next(wt_loader *l, uint8_t *byte);

#endif
