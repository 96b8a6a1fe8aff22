/*
 * A disk as offices have it: preloaded, it makes every flush take SLOW_SYNC_US microseconds longer. The virtual disks of build
 * machines flush into their host's memory, which no plant's disk does.
 */
#include <dlfcn.h>
#include <stdlib.h>
#include <time.h>

int fdatasync(int fd);
int fsync(int fd);

static void wait_a_flush(void)
{
	const char *text = getenv("SLOW_SYNC_US");
	long us = text ? strtol(text, NULL, 10) : 0;
	struct timespec t = {us / 1000000, us % 1000000 * 1000};

	nanosleep(&t, NULL);
}

static int flush(const char *name, int fd)
{
	int (*real)(int) = (int (*)(int))dlsym(RTLD_NEXT, name);

	wait_a_flush();
	return real(fd);
}

int fdatasync(int fd)
{
	return flush("fdatasync", fd);
}

int fsync(int fd)
{
	return flush("fsync", fd);
}
