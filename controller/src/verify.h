/* What the two halves of the verifier share. */
#ifndef WITHY_VERIFY_H
#define WITHY_VERIFY_H

#include "image.h"

wt_refusal wt_refuse(uint8_t reason, uint32_t offset);
uint16_t wt_output_draw(const wt_tables *tables, uint8_t output);
bool wt_is_relay(const wt_tables *tables, uint8_t output);

/* Proves the code of one lane; `switched` gets the heaters that it switches, one bit for each. */
wt_refusal wt_verify_lane(const wt_image *image, wt_code code, uint8_t *switched);

#endif
