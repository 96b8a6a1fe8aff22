/* One line a happening on standard error: time, level, text. Never passwords, tokens or readings' bodies. */
#ifndef BASE_LOG_H
#define BASE_LOG_H

void log_info(const char *fmt, ...) __attribute__((format(printf, 1, 2)));
void log_warn(const char *fmt, ...) __attribute__((format(printf, 1, 2)));
void log_error(const char *fmt, ...) __attribute__((format(printf, 1, 2)));

#endif
