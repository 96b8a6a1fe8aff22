#include "serial.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <termios.h>
#include <unistd.h>

static const struct {
	int baud;
	speed_t speed;
} speeds[] = {{1200, B1200},   {2400, B2400},	{4800, B4800},	 {9600, B9600},
	      {19200, B19200}, {38400, B38400}, {57600, B57600}, {115200, B115200}};

static speed_t speed_of(int baud)
{
	for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i++) {
		if (speeds[i].baud == baud)
			return speeds[i].speed;
	}
	return B0;
}

bool serial_has_baud(int baud)
{
	return speed_of(baud) != B0;
}

/* The far side of one: Linux gives those the major numbers 136 to 143 (Documentation/admin-guide/devices.txt). */
static bool is_pseudo(int fd)
{
	struct stat st;

	return !fstat(fd, &st) && major(st.st_rdev) >= 136 && major(st.st_rdev) <= 143;
}

static enum status set_line(int fd, int baud, char parity, bool two_stops, struct err *err)
{
	struct termios t;

	if (tcgetattr(fd, &t))
		return err_set(err, INVALID, "/device", "this is no serial line");
	cfmakeraw(&t);
	t.c_cflag &= ~(tcflag_t)(CSTOPB | CRTSCTS | PARENB | PARODD);
	t.c_cflag |= CLOCAL | CREAD | (two_stops ? CSTOPB : 0U);
	if (parity != 'N')
		t.c_cflag |= PARENB | (parity == 'O' ? PARODD : 0U);
	/* A byte with wrong parity comes as 0, and the checksum tells. */
	t.c_iflag |= parity != 'N' ? INPCK : 0U;
	t.c_cc[VMIN] = 0;
	t.c_cc[VTIME] = 0;
	cfsetispeed(&t, speed_of(baud));
	cfsetospeed(&t, speed_of(baud));
	/* A pseudo terminal knows no parity, and says so once it was set before. */
	if (tcsetattr(fd, TCSANOW, &t) && !(errno == EINVAL && is_pseudo(fd)))
		return err_set(err, BUSY, "/device", "the line cannot be set: %s", strerror(errno));
	return OK;
}

enum status serial_open(int *fd, const char *device, int baud, char parity, bool two_stops, struct err *err)
{
	struct stat st;
	enum status rc;

	*fd = -1;
	if (stat(device, &st))
		return err_set(err, BUSY, "/device", "%s", strerror(errno));
	if (!S_ISCHR(st.st_mode))
		return err_set(err, INVALID, "/device", "this is no serial line");
	*fd = open(device, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
	if (*fd < 0)
		return err_set(err, BUSY, "/device", "%s", strerror(errno));
	if (flock(*fd, LOCK_EX | LOCK_NB))
		rc = err_set(err, BUSY, "/device", "somebody else uses the line");
	else
		rc = set_line(*fd, baud, parity, two_stops, err);
	if (rc) {
		close(*fd);
		*fd = -1;
	}
	return rc;
}
