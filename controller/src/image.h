/* Images of timing programs: where their parts lie, and the proof that they can do no harm.
   The rules are those of grammar/program-format.md; nothing here knows the compiler. */
#ifndef WITHY_IMAGE_H
#define WITHY_IMAGE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* On a chip that keeps programs in flash, bytes of images and machine tables are read by a macro of its own. */
#ifndef WT_READ
#define WT_READ(pointer) (*(pointer))
#endif

enum {
    WT_MOST_OUTPUTS = 8,
    WT_MOST_INPUTS = 16,
    WT_MOST_SUPPLIES = 4,
    WT_MOST_LANES = 4,
    WT_DEEPEST = 2,
    WT_FIRST_PROGRAM_FAULT = 128
};

enum { WT_HEATER = 1, WT_ISOLATOR = 2, WT_LAMP = 3, WT_BUZZER = 4 };
enum { WT_NO_SWITCH = 0, WT_SOLID_STATE = 1, WT_RELAY = 2 };
enum {
    WT_START = 1,
    WT_STOP = 2,
    WT_DOWN = 3,
    WT_HOME = 4,
    WT_HEATER_CURRENT = 5,
    WT_SUPPLY_CURRENT = 6,
    WT_ROW = 7,
    WT_GUARD = 8
};

enum {
    WT_OP_END = 0x00,
    WT_OP_STEP = 0x01,
    WT_OP_CALL = 0x02,
    WT_OP_ON = 0x10,
    WT_OP_OFF = 0x11,
    WT_OP_BEGIN = 0x12,
    WT_OP_WAIT = 0x20,
    WT_OP_AWAIT = 0x21,
    WT_OP_WAIT_ROW = 0x22,
    WT_OP_REPEAT = 0x30,
    WT_OP_AGAIN = 0x31,
    WT_OP_ENOUGH = 0x32,
    WT_OP_SKIP = 0x40,
    WT_OP_SCRAP = 0x41,
    WT_OP_FAULT = 0x42
};

enum {
    WT_OK = 0,
    WT_LENGTH = 1,
    WT_MAGIC = 2,
    WT_VERSION = 3,
    WT_CHECK_SUM = 4,
    WT_HEADER = 5,
    WT_TEXT = 6,
    WT_OUTPUT_TABLE = 7,
    WT_INPUT_TABLE = 8,
    WT_SUPPLY_TABLE = 9,
    WT_ROW_TABLE = 10,
    WT_LANE_LENGTH = 11,
    WT_OTHER_BENCH = 12,
    WT_OTHER_WIRING = 13,
    WT_LIMIT_RAISED = 14,
    WT_UNKNOWN = 15,
    WT_INDEX = 16,
    WT_LEVEL = 17,
    WT_JUMP = 18,
    WT_LOOP = 19,
    WT_ENOUGH = 20,
    WT_NOT_ENDED = 21,
    WT_NOT_BEGUN = 22,
    WT_IN_HEAT = 23,
    WT_TOO_LONG = 24,
    WT_CLAIM_TOO_SMALL = 25,
    WT_CLAIM_TOO_LARGE = 26,
    WT_RESERVATION = 27,
    WT_NO_BEND = 28,
    WT_SHARED = 29,
    WT_NO_DOWN_SWITCH = 30,
    WT_NOT_ON = 31,
    WT_ON_AGAIN = 32,
    WT_TOO_LARGE = 33
};

/* Outputs, inputs and supplies, as they lie in an image or in the controller's own constants. */
typedef struct {
    const uint8_t *outputs;
    const uint8_t *inputs;
    const uint8_t *supplies;
    uint8_t operators;
    uint8_t output_count;
    uint8_t input_count;
    uint8_t supply_count;
} wt_tables;

/* The controller's own constants. */
typedef struct {
    wt_tables tables;
    uint32_t bench;
    uint16_t space;
} wt_machine;

typedef struct {
    uint16_t from;
    uint16_t length;
} wt_code;

typedef struct {
    const uint8_t *bytes;
    uint16_t length;
    uint16_t calls;
    uint16_t rows;
    wt_tables tables;
    uint16_t steps;
    uint8_t call_count;
    uint8_t table_count;
    uint8_t row_count;
    uint8_t lane_count;
    wt_code lanes[WT_MOST_LANES];
} wt_image;

typedef struct {
    uint8_t reason;
    uint16_t offset;
} wt_refusal;

/* One instruction; which operands are meant, its operation says. */
typedef struct {
    uint8_t operation;
    uint8_t size;
    uint8_t one;
    uint8_t two;
    uint16_t amount;
    uint32_t time;
    uint32_t lasts;
} wt_instruction;

uint32_t wt_crc32_start(void);
uint32_t wt_crc32_more(uint32_t crc, const uint8_t *bytes, uint16_t count);
uint32_t wt_crc32_end(uint32_t crc);
uint16_t wt_crc16_start(void);
uint16_t wt_crc16_more(uint16_t crc, uint8_t byte);

uint8_t wt_u8(const uint8_t *from);
uint16_t wt_u16(const uint8_t *from);
uint32_t wt_u24(const uint8_t *from);
uint32_t wt_u32(const uint8_t *from);

uint8_t wt_output_role(const wt_tables *tables, uint8_t output);
uint8_t wt_output_supply(const wt_tables *tables, uint8_t output);
uint16_t wt_output_longest(const wt_tables *tables, uint8_t output);
bool wt_is_heater(const wt_tables *tables, uint8_t output);
uint8_t wt_input_role(const wt_tables *tables, uint8_t input);
uint8_t wt_input_subject(const wt_tables *tables, uint8_t input);
bool wt_input_normally_closed(const wt_tables *tables, uint8_t input);
uint8_t wt_input_debounce(const wt_tables *tables, uint8_t input);
uint16_t wt_supply_capacity(const wt_tables *tables, uint8_t supply);
bool wt_has_input(const wt_tables *tables, uint8_t role, uint8_t subject);
uint32_t wt_tables_digest(const wt_tables *tables);

/* The machine's constants from their bytes: operators, three counts, then the tables as in an image. */
void wt_machine_tables(const uint8_t *bytes, wt_tables *tables);

/* The time of a row of a table of heat times, ms. */
uint32_t wt_row_time(const wt_image *image, uint8_t table, uint8_t row);

/* Reads the instruction at an offset of a lane's code; false if there is none. */
bool wt_decode(const wt_image *image, wt_code code, uint16_t at, wt_instruction *instruction);

/* Reads and proves an image. `machine` may be null: then nothing is said about where it may run. */
wt_refusal wt_verify(const uint8_t *bytes, uint32_t length, const wt_machine *machine, wt_image *image);

#endif
