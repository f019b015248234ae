/* Included before everything else: what is read through WT_READ lies in flash. */
#ifndef WITHY_FLASH_H
#define WITHY_FLASH_H

#include <avr/pgmspace.h>

#define WT_READ(pointer) pgm_read_byte(pointer)

#endif
