/* Published check values, in the C: what the compiler's side is tested with as well. */
#include "slots.h"

int main(void) {
    static const uint8_t digits[] = {'1', '2', '3', '4', '5', '6', '7', '8', '9'};
    static const uint8_t constants[] = {1, 1, 1, 1, 0, 1, 1, 0, 1, 0, 1, 0, 0, 1, 0, 0, 1, 1, 0};
    static wt_machine machine;
    static wt_controller controller;
    static wt_loader loader;
    /* A kind that there is not, numbered with each of the two bytes that RFC 1055 escapes; the error that answers it. */
    uint8_t message[2] = {0x50, 0300};
    uint16_t crc = wt_crc16_start();
    uint8_t at;
    for (at = 0; at < sizeof digits; at++) {
        crc = wt_crc16_more(crc, digits[at]);
    }
    /* Catalogue of parametrised CRC algorithms, check values over "123456789". */
    must(wt_crc32_end(wt_crc32_more(wt_crc32_start(), digits, sizeof digits)) == 0xCBF43926u, "CRC-32/ISO-HDLC");
    must(crc == 0x29B1u, "CRC-16/IBM-3740");
    machine.space = SPACE;
    wt_machine_tables(constants, &machine.tables);
    wt_start_up(&controller, &machine);
    wt_loader_start(&loader, &controller);
    /* RFC 1055: END 0300, ESC 0333, ESC_END 0334, ESC_ESC 0335 (octal). */
    ask(&loader, message, 2);
    must(answer[0] == 0300 && answer[1] == 0xFF && answer[2] == 0333 && answer[3] == 0334 && answer[4] == 1, "END");
    message[1] = 0333;
    ask(&loader, message, 2);
    must(answer[1] == 0xFF && answer[2] == 0333 && answer[3] == 0335 && answer[4] == 1, "ESC");
    must(answer[answered - 1u] == 0300, "END closes");
    return 0;
}
