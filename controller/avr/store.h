/* Two slots for programs in flash, and their commit marks in EEPROM. */
#ifndef WITHY_STORE_H
#define WITHY_STORE_H

#include "../src/hal.h"

/* Above the firmware and below what writes flash; see the Makefile. */
#define WT_SLOTS_FROM 0x5E00u
#define WT_SLOT_SPACE 4096u

#endif
