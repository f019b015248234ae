/* A bench for the firmware: the chip in a simulator that counts its cycles, with contacts, outputs, a serial line, and
   a supply that can be cut at any moment.

   Arguments: the firmware as Intel HEX, and the address where its stack may reach down to. Commands come line by line
   on standard input; each is answered by lines, of which the last begins with `ok`, followed by the time in cycles
   since the beginning, whether the chip has power, and what it has sent since (hexadecimal, `-` for nothing).
   Before that come `edge TIME OUTPUTS` for each change of an output, and `reset TIME`.

     on CAUSE               power comes; cause as in the chip's own register
     off                    power goes; flash and EEPROM stay
     contacts CLOSED        bit n: the contact at input n is closed
     run CYCLES             time passes
     until MASK VALUE CYCLES  the same, but only until the outputs under the mask have that value
     send HEX               bytes go out on the line, as fast as the line allows, while time passes
     cut BYTES              power goes as soon as so many more bytes have come to the chip (-1: never mind)
     hang                   the chip gets no more interrupts from its clock
     port                   opens a pseudo-terminal as the line; its name comes before `ok`
     serve                  time passes until the next command
     flash                  what the slots hold, hexadecimal, before `ok`
     follow CONTACT MASK    the contact is closed while all outputs under the mask are on: a current sensor
     worst                  lowest address that the stack has touched, and the longest the chip was awake, before `ok`
     rested                 what it was awake so far does not count */
#define _GNU_SOURCE
#include <fcntl.h>
#include <poll.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

#include <simavr/avr_eeprom.h>
#include <simavr/avr_extint.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_hex.h>

enum { RAM_FROM = 0x100, RAM_END = 0x900, SLOTS_FROM = 0x5E00, SLOTS = 0x2000, EEPROM = 1024, PAINT = 0xA5 };
enum { PINB = 0x23, DDRB, PORTB, PINC, DDRC, PORTC, PIND, DDRD, PORTD, MCUSR = 0x54, TIMSK0 = 0x6E };
/* Cycles: of a byte on the line at 38400 bits per second, and of a millisecond. */
enum { BYTE = 4167, MILLISECOND = 16000 };
enum { LINE = 1 << 16 };

static avr_t *chip;
static const char *hex_file;
static unsigned stack_floor;
static uint8_t slots[SLOTS];
static uint8_t eeprom[EEPROM];
static avr_cycle_count_t before;
static void (*own_reset)(avr_t *);
static uint16_t closed;
static unsigned follows[16];
static unsigned outputs;
static unsigned stop_mask, stop_value;
static bool stops;
static long budget = -1;
static bool cut;
static uint8_t to_chip[LINE], from_chip[LINE];
static size_t to_from, to_end, from_end;
static int port = -1;
static avr_cycle_count_t woke, longest;

static void die(const char *why) {
    fprintf(stderr, "host: %s\n", why);
    exit(3);
}

static avr_cycle_count_t now(void) {
    return before + (chip == NULL ? 0 : chip->cycle);
}

static void quiet(avr_t *avr, const int level, const char *format, va_list list) {
    (void)avr;
    if (level == LOG_ERROR) {
        vfprintf(stderr, format, list);
    }
}

/* What the terminals of controller/avr/pins.c show. */
static void look(void) {
    unsigned shown = 0;
    if (chip != NULL) {
        shown = (unsigned)((chip->data[PORTD] & chip->data[DDRD]) >> 2)
            | (unsigned)((chip->data[PORTB] & chip->data[DDRB] & 3) << 6);
    }
    if (shown != outputs) {
        outputs = shown;
        printf("edge %llu %u\n", (unsigned long long)now(), outputs);
    }
}

static bool reached(void) {
    return stops && (outputs & stop_mask) == stop_value;
}

static void on_pin(struct avr_irq_t *irq, uint32_t value, void *param) {
    (void)irq;
    (void)value;
    (void)param;
    look();
}

static void on_byte(struct avr_irq_t *irq, uint32_t value, void *param) {
    uint8_t byte = (uint8_t)value;
    (void)irq;
    (void)param;
    if (port >= 0) {
        /* What nobody takes is lost, as on a real line. */
        (void)!write(port, &byte, 1);
    } else if (from_end < LINE) {
        from_chip[from_end++] = byte;
    }
}

/* Contacts as they stand: those of people, and those that follow outputs. */
static unsigned standing(void) {
    unsigned all = closed;
    int contact;
    for (contact = 0; contact < 16; contact++) {
        if (follows[contact] != 0 && (outputs & follows[contact]) == follows[contact]) {
            all |= 1u << contact;
        }
    }
    return all;
}

/* An open contact leaves its pin to the pull-up; a closed one draws it to ground. */
static void press(void) {
    unsigned open = ~standing();
    unsigned b = (open & 0xF) << 2;
    unsigned c = (open >> 4) & 0x3F;
    avr_ioport_external_t at_b = {.name = 'B', .mask = 0x3C, .value = (uint8_t)b};
    avr_ioport_external_t at_c = {.name = 'C', .mask = 0x3F, .value = (uint8_t)c};
    avr_ioctl(chip, AVR_IOCTL_IOPORT_SET_EXTERNAL('B'), &at_b);
    avr_ioctl(chip, AVR_IOCTL_IOPORT_SET_EXTERNAL('C'), &at_c);
    chip->data[PINB] = (uint8_t)((chip->data[PINB] & ~0x3C) | b);
    chip->data[PINC] = (uint8_t)((chip->data[PINC] & ~0x3F) | c);
}

static void on_reset(avr_t *avr) {
    printf("reset %llu\n", (unsigned long long)now());
    own_reset(avr);
}

/* The chip falls asleep for so many cycles, which pass at once here. */
static void on_sleep(avr_t *avr, avr_cycle_count_t cycles) {
    if (avr->cycle > woke && avr->cycle - woke > longest) {
        longest = avr->cycle - woke;
    }
    woke = avr->cycle + cycles + 1;
}

static avr_cycle_count_t alarm_rings(avr_t *avr, avr_cycle_count_t when, void *param) {
    (void)avr;
    (void)when;
    (void)param;
    return 0;
}

static void power_on(unsigned cause) {
    ihex_chunk_p chunks = NULL;
    avr_eeprom_desc_t kept = {.ee = eeprom, .offset = 0, .size = EEPROM};
    uint32_t flags = 0;
    int count = read_ihex_chunks(hex_file, &chunks);
    int at;
    chip = avr_make_mcu_by_name("atmega328p");
    if (chip == NULL || count <= 0) {
        die("no such chip, or no firmware");
    }
    avr_init(chip);
    chip->frequency = 16000000;
    chip->log = LOG_ERROR;
    /* So many cycles at most before pins and serial line are looked at from outside. */
    chip->run_cycle_limit = 1000;
    for (at = 0; at < count; at++) {
        memcpy(chip->flash + chunks[at].baseaddr, chunks[at].data, chunks[at].size);
    }
    free_ihex_chunks(chunks);
    memcpy(chip->flash + SLOTS_FROM, slots, SLOTS);
    avr_ioctl(chip, AVR_IOCTL_EEPROM_SET, &kept);
    memset(chip->data + RAM_FROM, PAINT, RAM_END - RAM_FROM);
    chip->sleep = on_sleep;
    /* PD2 and PD3 could be interrupts by their level; nobody uses them so, and looking for them takes all the time. */
    avr_extint_set_strict_lvl_trig(chip, 0, 0);
    avr_extint_set_strict_lvl_trig(chip, 1, 0);
    own_reset = chip->reset;
    chip->reset = on_reset;
    avr_ioctl(chip, AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
    flags &= ~(uint32_t)(AVR_UART_FLAG_STDIO | AVR_UART_FLAG_POLL_SLEEP);
    avr_ioctl(chip, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(avr_io_getirq(chip, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), on_byte, NULL);
    for (at = 0; at < 8; at++) {
        avr_irq_register_notify(avr_io_getirq(chip, AVR_IOCTL_IOPORT_GETIRQ('B'), at), on_pin, NULL);
        avr_irq_register_notify(avr_io_getirq(chip, AVR_IOCTL_IOPORT_GETIRQ('D'), at), on_pin, NULL);
    }
    chip->data[MCUSR] = (uint8_t)cause;
    woke = 0;
    press();
}

static void power_off(void) {
    avr_eeprom_desc_t kept = {.ee = NULL, .offset = 0, .size = EEPROM};
    if (chip == NULL) {
        return;
    }
    before += chip->cycle;
    memcpy(slots, chip->flash + SLOTS_FROM, SLOTS);
    avr_ioctl(chip, AVR_IOCTL_EEPROM_GET, &kept);
    memcpy(eeprom, kept.ee, EEPROM);
    avr_terminate(chip);
    chip = NULL;
    to_from = to_end = 0;
    look();
}

/* The next byte of the line comes to the chip. */
static void feed(void) {
    uint8_t byte;
    if (to_from < to_end) {
        byte = to_chip[to_from++];
        if (to_from == to_end) {
            to_from = to_end = 0;
        }
    } else if (port < 0 || read(port, &byte, 1) != 1) {
        return;
    }
    avr_raise_irq(avr_io_getirq(chip, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), byte);
    if (budget > 0 && --budget == 0) {
        cut = true;
    }
}

/* Time passes in slices that are not longer than a byte takes on the line. */
static void pass(avr_cycle_count_t cycles) {
    avr_cycle_count_t end = now() + cycles;
    while (now() < end && !reached()) {
        avr_cycle_count_t slice = end - now() < BYTE ? end - now() : BYTE;
        avr_cycle_count_t until;
        if (chip == NULL) {
            before = end;
            return;
        }
        feed();
        if (cut) {
            cut = false;
            power_off();
            continue;
        }
        press();
        until = chip->cycle + slice;
        avr_cycle_timer_register(chip, slice, alarm_rings, NULL);
        while (chip->cycle < until && !reached()) {
            int state = avr_run(chip);
            if (state == cpu_Crashed || state == cpu_Done) {
                die("the firmware has crashed");
            }
        }
        avr_cycle_timer_cancel(chip, alarm_rings, NULL);
        look();
    }
}

static void serve(void) {
    struct pollfd waits = {.fd = STDIN_FILENO, .events = POLLIN};
    while (poll(&waits, 1, 0) == 0) {
        pass(MILLISECOND);
        usleep(100);
    }
}

static void open_port(void) {
    struct termios raw;
    port = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
    if (port < 0 || grantpt(port) != 0 || unlockpt(port) != 0 || tcgetattr(port, &raw) != 0) {
        die("no pseudo-terminal");
    }
    cfmakeraw(&raw);
    if (tcsetattr(port, TCSANOW, &raw) != 0) {
        die("the pseudo-terminal stays a terminal");
    }
    printf("%s\n", ptsname(port));
}

static void send_hex(const char *hex) {
    unsigned byte;
    for (; sscanf(hex, "%2x", &byte) == 1 && to_end < LINE; hex += 2) {
        to_chip[to_end++] = (uint8_t)byte;
    }
    while (chip != NULL && to_from < to_end) {
        pass(BYTE);
    }
}

static void worst(void) {
    unsigned lowest = stack_floor;
    while (chip != NULL && lowest < RAM_END && chip->data[lowest] == PAINT) {
        lowest++;
    }
    printf("%u %llu\n", lowest, (unsigned long long)longest);
}

static void answer(void) {
    size_t at;
    printf("ok %llu %d ", (unsigned long long)now(), chip != NULL);
    for (at = 0; at < from_end; at++) {
        printf("%02x", from_chip[at]);
    }
    printf("%s\n", from_end == 0 ? "-" : "");
    from_end = 0;
    fflush(stdout);
}

static void command(char *line) {
    unsigned long long cycles;
    unsigned value, mask;
    size_t at;
    stops = false;
    if (sscanf(line, "on %u", &value) == 1) {
        power_off();
        power_on(value);
    } else if (strcmp(line, "off") == 0) {
        power_off();
    } else if (sscanf(line, "contacts %u", &value) == 1) {
        closed = (uint16_t)value;
    } else if (sscanf(line, "follow %u %u", &value, &mask) == 2 && value < 16) {
        follows[value] = mask;
    } else if (sscanf(line, "run %llu", &cycles) == 1) {
        pass(cycles);
    } else if (sscanf(line, "until %u %u %llu", &stop_mask, &stop_value, &cycles) == 3) {
        stops = true;
        pass(cycles);
    } else if (strncmp(line, "send ", 5) == 0) {
        send_hex(line + 5);
    } else if (sscanf(line, "cut %ld", &budget) == 1) {
        cut = budget == 0;
    } else if (strcmp(line, "hang") == 0 && chip != NULL) {
        chip->data[TIMSK0] = 0;
    } else if (strcmp(line, "port") == 0) {
        open_port();
    } else if (strcmp(line, "serve") == 0) {
        fflush(stdout);
        serve();
    } else if (strcmp(line, "flash") == 0 && chip != NULL) {
        for (at = 0; at < SLOTS; at++) {
            printf("%02x", chip->flash[SLOTS_FROM + at]);
        }
        printf("\n");
    } else if (strcmp(line, "worst") == 0) {
        worst();
    } else if (strcmp(line, "rested") == 0) {
        longest = 0;
    } else {
        die(line);
    }
}

int main(int count, char **arguments) {
    static char line[2 * LINE + 16];
    if (count != 3) {
        die("firmware, floor of the stack");
    }
    hex_file = arguments[1];
    stack_floor = (unsigned)strtoul(arguments[2], NULL, 0);
    avr_global_logger_set(quiet);
    memset(slots, 0xFF, sizeof slots);
    memset(eeprom, 0xFF, sizeof eeprom);
    /* Read without buffering by the library, so that waiting for a command sees it. */
    setvbuf(stdin, NULL, _IONBF, 0);
    while (fgets(line, sizeof line, stdin) != NULL) {
        line[strcspn(line, "\n")] = '\0';
        command(line);
        answer();
    }
    return 0;
}
