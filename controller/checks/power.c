/* Cuts the power at every byte that is written while a program is loaded, and leaves that byte as anything. The program
   before must be whole afterwards, or the new one, or none; never a half one; and the next load must succeed.

   Arguments: machine constants, an image that is loaded first, one that is loaded next; `every` tries all 256 values of
   the byte, and a second cut while the load is tried again. */
#include "slots.h"

typedef struct {
    uint8_t bytes[SPACE];
    uint16_t length;
} file;

static wt_machine machine;
static wt_controller controller;
static wt_loader loader;
static uint8_t before[sizeof slots];
static unsigned long cuts;
static unsigned long kept;
static unsigned long renewed;
static unsigned long none;

static file read_file(const char *name) {
    file read;
    FILE *from = fopen(name, "rb");
    must(from != NULL, name);
    read.length = (uint16_t)fread(read.bytes, 1, sizeof read.bytes, from);
    must(fclose(from) == 0 && read.length > 0u, name);
    return read;
}

static void boot(void) {
    wt_start_up(&controller, &machine);
    wt_loader_start(&loader, &controller);
}

static bool runs(const file *program) {
    return controller.loaded && controller.image.length == program->length
        && memcmp(controller.image.bytes, program->bytes, program->length) == 0;
}

/* Loads with power that goes after so many bytes; true if it lasted. */
static bool cut_load(const file *program, long after, uint8_t left) {
    power = after;
    torn = left;
    if (setjmp(dark) != 0) {
        boot();
        return false;
    }
    must(load(&loader, program->bytes, program->length), "a good program is not taken");
    power = -1;
    return true;
}

/* What may be there after a cut: the old program, or none if there was none. The new one may only be there if it
   was written and proved, and its mark came to be right. */
static void look(const file *old, const file *new, bool marked) {
    cuts++;
    if (runs(new)) {
        must(marked, "the new program is there too soon");
        renewed++;
    } else if (old == NULL) {
        must(!controller.loaded, "half a program runs");
        none++;
    } else {
        must(runs(old), "the program before is gone");
        kept++;
    }
}

static void reset(void) {
    memcpy(slots, before, sizeof slots);
    boot();
}

/* The values that a torn byte is left as: all, or the telling ones. */
static uint16_t value(uint16_t number, bool every) {
    /* Complements of the marks that are written here are among them. */
    static const uint16_t telling[5] = {0x00, 0xFF, 0x55, 0x01, 0x80};
    return every ? number : telling[number];
}

static void from_here(const file *old, const file *new, bool every) {
    uint16_t values = every ? 256u : 5u;
    long last;
    long cut;
    long second;
    uint16_t number;
    memcpy(before, slots, sizeof slots);
    for (last = 0; !cut_load(new, last, 0); last++) {
        reset();
    }
    for (cut = 0; cut < last; cut++) {
        for (number = 0; number < values; number++) {
            reset();
            must(!cut_load(new, cut, (uint8_t)value(number, every)), "power stayed");
            look(old, new, cut >= last - MARK);
            must(cut_load(new, -1, 0) && runs(new), "the load cannot be repeated");
        }
        for (second = 0; every && second < last; second++) {
            reset();
            (void)cut_load(new, cut, 0xFF);
            if (!runs(new) && !cut_load(new, second, 0x00)) {
                look(old, new, second >= last - MARK);
            }
        }
    }
    reset();
}

int main(int count, char **arguments) {
    file constants;
    file first;
    file next;
    bool every;
    must(count >= 4, "machine, first image, next image");
    constants = read_file(arguments[1]);
    first = read_file(arguments[2]);
    next = read_file(arguments[3]);
    every = count > 4;
    machine.bench = wt_u32(first.bytes + 24);
    machine.space = SPACE;
    wt_machine_tables(constants.bytes, &machine.tables);
    memset(slots, 0xFF, sizeof slots);
    boot();
    must(!controller.loaded, "an empty controller runs something");
    from_here(NULL, &next, every);
    must(load(&loader, first.bytes, first.length), "first");
    from_here(&first, &next, every);
    must(load(&loader, next.bytes, next.length), "next");
    from_here(&next, &first, every);
    /* Marks are about to wrap: the other slot's is one less. */
    store(slots[loader.active] + SPACE, 0xFFFF, 2);
    store(slots[loader.active] + SPACE + 2, 0, 2);
    store(slots[loader.active == 0u ? 1 : 0] + SPACE, 0xFFFE, 2);
    store(slots[loader.active == 0u ? 1 : 0] + SPACE + 2, 1, 2);
    boot();
    must(runs(&next), "marks before they wrap");
    from_here(&next, &first, every);
    printf("power: %lu cuts; the program before was kept %lu times, the new one was whole %lu times, none was there %lu times\n",
        cuts, kept, renewed, none);
    must(kept > 0u && renewed > 0u && none > 0u, "not everything was seen");
    return 0;
}
