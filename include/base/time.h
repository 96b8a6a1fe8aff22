/* Clock and calendar. Times are UTC milliseconds since 1970; a date is a plain calendar date without zone. */
#ifndef BASE_TIME_H
#define BASE_TIME_H

#include <stdbool.h>
#include <stdint.h>

#define TIME_TEXT_SIZE 25 /* "2026-11-25T12:30:11.123Z" */
#define DATE_TEXT_SIZE 11 /* "2026-11-25" */

/* Now. Tests and the demo generator may set a fixed or shifted clock with time_set_offset_ms. */
int64_t time_now_ms(void);
void time_set_offset_ms(int64_t offset_ms);

void time_to_text(int64_t ms, char out[TIME_TEXT_SIZE]);
bool time_from_text(const char *s, int64_t *ms); /* RFC 3339, any offset */

/* Days since 1970-01-01 of a proleptic Gregorian date; false for text that is no date (2026-02-30). */
bool date_from_text(const char *s, int32_t *days);
void date_to_text(int32_t days, char out[DATE_TEXT_SIZE]);
int32_t date_of_time(int64_t ms);   /* the date in the plant's time zone (TZ of the process) */
int64_t time_of_date(int32_t days); /* the first moment of the day in the plant's time zone */
int32_t date_today(void);
int32_t date_add_months(int32_t days, int months); /* the last day of the month when it is shorter */

#endif
