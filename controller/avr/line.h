/* The serial line: 8 data bits, no parity, one stop bit. Nothing here waits. */
#ifndef WITHY_LINE_H
#define WITHY_LINE_H

#include <stdbool.h>
#include <stdint.h>

void line_start(void);

/* A byte that has come; false if none has. */
bool line_take(uint8_t *byte);

/* Whether a byte may be given to the line. */
bool line_is_free(void);

/* Gives it one, and lets the line wake the chip when it may have the next. */
void line_give(uint8_t byte);

#endif
