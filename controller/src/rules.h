/* The interpreter's constants, and what its two halves share. */
#ifndef WITHY_RULES_H
#define WITHY_RULES_H

#include "run.h"

/* Times in ms. */
#define WT_LONGEST_TICK 100u
#define WT_LONGEST_PASSED 0x00FFFFFFu
#define WT_WINDOW 1000u
#define WT_SHORTEST_REST 5000u
#define WT_CURRENT_FALLS 1500u
/* An isolator stays closed for longer than that, and for an input to stand still: a current is seen to stay. */
#define WT_HELD 1800u
#define WT_DOWN_ABSENT 1000u
#define WT_TRIED 200u
#define WT_CHECK_ON 3000u
#define WT_CHECK_ALL 5000u
#define WT_SOUNDS 300u
/* 255ths of full power. */
#define WT_SHOWS_DARK 204u
#define WT_LEAK 191u
/* Changes of a contact in one second. */
#define WT_CHATTER 30u
/* Instructions of a lane, and bytes of the image to be checked, in one tick. */
#define WT_INSTRUCTIONS 64u
#define WT_CHECKED 2u

void wt_log(wt_controller *c, uint8_t lane, uint8_t kind, uint16_t detail);
void wt_fail(wt_controller *c, uint8_t lane, uint8_t code);
void wt_switch_on(wt_controller *c, uint8_t output, uint8_t level);
void wt_switch_off(wt_controller *c, uint8_t output);
bool wt_may_heat(const wt_controller *c, uint8_t output);
void wt_run_lanes(wt_controller *c);

#endif
