/* What comes is kept by an interrupt until somebody has time for it; what goes out is asked for by one. */
#include "line.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#ifndef SPEED
#define SPEED 38400UL
#endif
#define DIVISOR ((F_CPU + 8UL * SPEED) / (16UL * SPEED) - 1UL)

/* A power of two. A tick takes less than a millisecond, in which four bytes come. */
enum { KEPT = 32 };

static volatile uint8_t kept[KEPT];
static volatile uint8_t put_at;
static volatile uint8_t take_at;

ISR(USART_RX_vect) {
    uint8_t byte = UDR0;
    uint8_t next = (uint8_t)((put_at + 1u) % KEPT);
    /* What does not fit is lost, and the frame's check sum tells. */
    if (next != take_at) {
        kept[put_at] = byte;
        put_at = next;
    }
}

ISR(USART_UDRE_vect) {
    UCSR0B &= (uint8_t)~_BV(UDRIE0);
}

void line_start(void) {
    UBRR0 = (uint16_t)DIVISOR;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXCIE0) | _BV(RXEN0) | _BV(TXEN0);
}

bool line_take(uint8_t *byte) {
    if (take_at == put_at) {
        return false;
    }
    *byte = kept[take_at];
    take_at = (uint8_t)((take_at + 1u) % KEPT);
    return true;
}

bool line_is_free(void) {
    return (UCSR0A & _BV(UDRE0)) != 0u;
}

void line_give(uint8_t byte) {
    UDR0 = byte;
    UCSR0B |= _BV(UDRIE0);
}
