/*
 * A HART master in a browser: the server's own frames and lines, compiled to WebAssembly, one modem a module. JavaScript brings the
 * bytes over its serial port; both sides speak through one buffer, and nothing here waits or knows the time.
 *
 *   modem_begin(0)              the device at poll address 0
 *   n = modem_request(0, 0)     n bytes to send stand in the buffer, preambles and all
 *   modem_take(n)               n bytes that came in stand in the buffer
 *   n = modem_answer(false)     0: not there yet; otherwise its n bytes, from delimiter to checksum, stand in the buffer
 *   modem_learn()               it was the answer to command 0: from now on the device is asked by its long address
 */
#ifndef FIELD_WASM_MODEM_H
#define FIELD_WASM_MODEM_H

#include <stdbool.h>
#include <stdint.h>

/* Raised when a function changes its meaning; static/js/lib/hart.js refuses another. */
#define MODEM_VERSION 1
#define MODEM_BUFFER  512

#ifdef __wasm__
#define EXPORTED __attribute__((visibility("default")))
#else
#define EXPORTED
#endif

EXPORTED int modem_version(void);
EXPORTED uint8_t *modem_buffer(void); /* MODEM_BUFFER bytes */

EXPORTED void modem_begin(int poll); /* forgets the device; poll address 0..63 */
/*
 * The first n bytes of the buffer are the request's data. What came in before is dropped. 0, and nothing to send, for a command that
 * does more than read, and for data that no query carries.
 */
EXPORTED int modem_request(int command, int n);
EXPORTED void modem_take(int n); /* at most MODEM_BUFFER at a time */
/* ended: the line is quiet, so what looks like the beginning of a frame was none. */
EXPORTED int modem_answer(bool ended);
EXPORTED int modem_code(void);	 /* response code of that answer; bit 7 set: the device received the request damaged */
EXPORTED bool modem_learn(void); /* false: it was no answer to command 0 */
EXPORTED int modem_universal(void); /* revision of HART that the device speaks, 0 before modem_learn */

#endif
