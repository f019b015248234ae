/* Where the terminals of the controller lie on the chip. Outputs and inputs are numbered as in a `controller` block. */
#ifndef WITHY_PINS_H
#define WITHY_PINS_H

#include <stdint.h>

enum { WT_HIGHEST_OUTPUT = 7, WT_HIGHEST_INPUT = 9 };

/* All outputs off, pull-ups at all inputs. */
void pins_start(void);

/* Bit n: the contact at input n is closed. */
uint16_t pins_closed(void);

/* Bit n: output n is on. */
void pins_set(uint8_t outputs);

#endif
