/* Outputs 0 to 5 are PD2 to PD7, 6 and 7 are PB0 and PB1; inputs 0 to 3 are PB2 to PB5, 4 to 9 are PC0 to PC5. A closed
   contact joins its input to ground; the chip's own pull-up holds it high while open, so that a broken wire reads as an
   open contact. */
#include "pins.h"

#include <avr/io.h>

enum { OUTPUTS_D = 0xFC, OUTPUTS_B = 0x03, INPUTS_B = 0x3C, INPUTS_C = 0x3F };

void pins_start(void) {
    PORTD = 0;
    PORTB = INPUTS_B;
    PORTC = INPUTS_C;
    DDRD = OUTPUTS_D;
    DDRB = OUTPUTS_B;
}

uint16_t pins_closed(void) {
    uint8_t b = (uint8_t)(~PINB & INPUTS_B);
    uint8_t c = (uint8_t)(~PINC & INPUTS_C);
    return (uint16_t)((uint16_t)(b >> 2) | (uint16_t)((uint16_t)c << 4));
}

void pins_set(uint8_t outputs) {
    PORTD = (uint8_t)(outputs << 2);
    PORTB = (uint8_t)(INPUTS_B | (outputs >> 6));
}
