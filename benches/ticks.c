/* Runs an image on the machine whose tables it holds, for a number of ticks 1 ms apart: for `cargo bench --bench program`.

   Arguments: image, ticks, contacts, and the bits of them that change every 500 ticks. Answers with the seconds it took
   and a sum over all outputs. */
#include <time.h>

#include "../controller/checks/images.h"

int main(int count, char **arguments) {
    static uint8_t image[65536];
    static wt_controller controller;
    wt_machine machine;
    FILE *file;
    size_t length;
    unsigned long ticks;
    unsigned long tick;
    unsigned long contacts;
    unsigned long changing;
    uint32_t sum = 0;
    clock_t start;
    must(count == 5, "image, ticks, contacts, changing");
    file = fopen(arguments[1], "rb");
    must(file != NULL, arguments[1]);
    length = fread(image, 1, sizeof image, file);
    must(fclose(file) == 0 && length >= 47u && tables_of(image, length, &machine.tables) != 0u, arguments[1]);
    ticks = strtoul(arguments[2], NULL, 10);
    contacts = strtoul(arguments[3], NULL, 10);
    changing = strtoul(arguments[4], NULL, 10);
    machine.bench = wt_u32(image + 24);
    machine.space = 0xFFFFu;
    wt_start_up(&controller, &machine);
    must(wt_load(&controller, image, (uint16_t)length).reason == WT_OK, "the image is refused");
    start = clock();
    for (tick = 0; tick < ticks; tick++) {
        unsigned long now = tick / 500u % 2u == 0u ? contacts : contacts ^ changing;
        sum = sum * 31u + wt_tick(&controller, (uint32_t)tick, (uint16_t)now);
    }
    printf("%f %lu\n", (double)(clock() - start) / CLOCKS_PER_SEC, (unsigned long)sum);
    return 0;
}
