#include "base/time.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#define DAY_MS	 86400000LL
#define FIRST_MS (-719528LL * DAY_MS)	  /* 0000-01-01 */
#define LAST_MS	 (2932897LL * DAY_MS - 1) /* the last millisecond of 9999 */

static _Atomic int64_t offset_ms;

int64_t time_now_ms(void)
{
	struct timespec now;

	clock_gettime(CLOCK_REALTIME, &now);
	return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000 + atomic_load(&offset_ms);
}

void time_set_offset_ms(int64_t offset)
{
	atomic_store(&offset_ms, offset);
}

static bool is_leap(int year)
{
	return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

static int month_length(int year, int month)
{
	static const int length[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

	return length[month - 1] + (month == 2 && is_leap(year));
}

/* Days from 0000-01-01 to the first of January of year >= 0: one more for every leap year before it, 0000 being one. */
static int32_t days_before_year(int year)
{
	int past = year - 1; /* the last whole year */

	return year == 0 ? 0 : 365 * year + past / 4 - past / 100 + past / 400 + 1;
}

#define DAYS_TO_1970 719528

static int32_t days_of(int year, int month, int day)
{
	int32_t days = days_before_year(year) - DAYS_TO_1970 + day - 1;

	for (int m = 1; m < month; m++)
		days += month_length(year, m);
	return days;
}

struct date {
	int year, month, day;
};

static struct date date_of(int32_t days)
{
	int32_t since_zero = days + DAYS_TO_1970;
	struct date d = {.month = 1};

	if (since_zero < 0)
		since_zero = 0;
	d.year = since_zero / 366; /* never too late, at most a few years too early */
	while (days_before_year(d.year + 1) <= since_zero)
		d.year++;
	d.day = since_zero - days_before_year(d.year) + 1;
	while (d.day > month_length(d.year, d.month))
		d.day -= month_length(d.year, d.month++);
	return d;
}

/* Reads exactly n digits and moves on; false when there are fewer. */
static bool take_digits(const char **s, int n, int *v)
{
	*v = 0;
	for (; n > 0; n--, (*s)++) {
		if (**s < '0' || **s > '9')
			return false;
		*v = *v * 10 + (**s - '0');
	}
	return true;
}

static bool take(const char **s, char c)
{
	if (**s != c)
		return false;
	(*s)++;
	return true;
}

static bool take_date(const char **s, int32_t *days)
{
	int year, month, day;

	if (!take_digits(s, 4, &year) || !take(s, '-') || !take_digits(s, 2, &month) || !take(s, '-') ||
	    !take_digits(s, 2, &day))
		return false;
	if (month < 1 || month > 12 || day < 1 || day > month_length(year, month))
		return false;
	*days = days_of(year, month, day);
	return true;
}

/* Fraction of a second, any number of digits; those beyond the third are cut off. */
static bool take_fraction(const char **s, int *ms)
{
	int weight = 100;

	*ms = 0;
	if (!take(s, '.'))
		return true;
	if (**s < '0' || **s > '9')
		return false;
	for (; **s >= '0' && **s <= '9'; (*s)++, weight /= 10)
		*ms += weight * (**s - '0');
	return true;
}

static bool take_offset(const char **s, int *minutes)
{
	int sign = **s == '-' ? -1 : 1, h, m;

	*minutes = 0;
	if (take(s, 'Z') || take(s, 'z'))
		return true;
	if (!take(s, '+') && !take(s, '-'))
		return false;
	if (!take_digits(s, 2, &h) || !take(s, ':') || !take_digits(s, 2, &m) || h > 23 || m > 59)
		return false;
	*minutes = sign * (60 * h + m);
	return true;
}

bool time_from_text(const char *s, int64_t *ms)
{
	int32_t days;
	int h, m, sec, fraction, offset;

	if (!take_date(&s, &days) || (!take(&s, 'T') && !take(&s, 't')))
		return false;
	if (!take_digits(&s, 2, &h) || !take(&s, ':') || !take_digits(&s, 2, &m) || !take(&s, ':') ||
	    !take_digits(&s, 2, &sec) || h > 23 || m > 59 || sec > 59)
		return false;
	if (!take_fraction(&s, &fraction) || !take_offset(&s, &offset) || *s)
		return false;
	*ms = days * DAY_MS + ((h * 60LL + m - offset) * 60 + sec) * 1000 + fraction;
	return true;
}

void time_to_text(int64_t ms, char out[TIME_TEXT_SIZE])
{
	int64_t days, rest;
	struct date d;

	if (ms < FIRST_MS)
		ms = FIRST_MS;
	if (ms > LAST_MS)
		ms = LAST_MS;
	days = ms / DAY_MS - (ms % DAY_MS < 0);
	rest = ms - days * DAY_MS;
	d = date_of((int32_t)days);
	snprintf(out, TIME_TEXT_SIZE, "%04u-%02u-%02uT%02u:%02u:%02u.%03uZ", (unsigned)d.year % 10000,
		 (unsigned)d.month % 100, (unsigned)d.day % 100, (unsigned)(rest / 3600000) % 100,
		 (unsigned)(rest / 60000 % 60), (unsigned)(rest / 1000 % 60), (unsigned)(rest % 1000));
}

bool date_from_text(const char *s, int32_t *days)
{
	int32_t found;

	if (!take_date(&s, &found) || *s)
		return false;
	*days = found;
	return true;
}

void date_to_text(int32_t days, char out[DATE_TEXT_SIZE])
{
	struct date d = date_of(days > 2932896 ? 2932896 : days);

	snprintf(out, DATE_TEXT_SIZE, "%04u-%02u-%02u", (unsigned)d.year % 10000, (unsigned)d.month % 100,
		 (unsigned)d.day % 100);
}

int32_t date_of_time(int64_t ms)
{
	static pthread_once_t once = PTHREAD_ONCE_INIT;
	time_t seconds = (time_t)(ms / 1000 - (ms % 1000 < 0));
	struct tm local = {0};

	pthread_once(&once, tzset); /* localtime_r need not read TZ by itself */
	if (!localtime_r(&seconds, &local) || local.tm_year < -1900)
		return (int32_t)(ms / DAY_MS);
	return days_of(local.tm_year + 1900, local.tm_mon + 1, local.tm_mday);
}

int64_t time_of_date(int32_t days)
{
	struct date d = date_of(days);
	struct tm local = {.tm_year = d.year - 1900, .tm_mon = d.month - 1, .tm_mday = d.day, .tm_isdst = -1};
	time_t seconds = mktime(&local);

	return seconds == (time_t)-1 ? days * (int64_t)DAY_MS : (int64_t)seconds * 1000;
}

int32_t date_today(void)
{
	return date_of_time(time_now_ms());
}

int32_t date_add_months(int32_t days, int months)
{
	struct date d = date_of(days);
	int total = d.year * 12 + d.month - 1 + months;
	int year, month;

	if (total < 0)
		total = 0;
	year = total / 12;
	month = total % 12 + 1;
	return days_of(year, month, d.day < month_length(year, month) ? d.day : month_length(year, month));
}
