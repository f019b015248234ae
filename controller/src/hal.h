/* What the loader needs of the machine it runs on. */
#ifndef WITHY_HAL_H
#define WITHY_HAL_H

#include <stdbool.h>
#include <stdint.h>

enum { WT_SLOTS = 2 };

/* Where a slot's bytes lie, for WT_READ. */
const uint8_t *wt_hal_slot(uint8_t slot);

/* Writes bytes into a slot; offsets come in ascending order, without gaps, from 0. False if that failed. */
bool wt_hal_write(uint8_t slot, uint16_t offset, const uint8_t *bytes, uint8_t count);

/* Finishes writing a slot: what is still kept back is written. */
bool wt_hal_finish(uint8_t slot);

/* The commit mark of a slot: 0 if it has none. Stored with its complement; a torn mark is none. */
uint16_t wt_hal_mark(uint8_t slot);

/* Writes the mark of a slot; 0 takes it away. */
void wt_hal_set_mark(uint8_t slot, uint16_t mark);

#endif
