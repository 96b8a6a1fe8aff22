/* Who is calling, and whom he thinks he calls. */
#include <arpa/inet.h>
#include <string.h>
#include <strings.h>
#include <sys/socket.h>

#include "server_internal.h"

static void address_text(const struct sockaddr *address, char out[INET6_ADDRSTRLEN])
{
	const struct sockaddr_in6 *six = (const struct sockaddr_in6 *)(const void *)address;
	const struct sockaddr_in *four = (const struct sockaddr_in *)(const void *)address;

	out[0] = '\0';
	if (address->sa_family == AF_INET)
		inet_ntop(AF_INET, &four->sin_addr, out, INET6_ADDRSTRLEN);
	else if (address->sa_family == AF_INET6 && IN6_IS_ADDR_V4MAPPED(&six->sin6_addr))
		inet_ntop(AF_INET, six->sin6_addr.s6_addr + 12, out, INET6_ADDRSTRLEN);
	else if (address->sa_family == AF_INET6)
		inet_ntop(AF_INET6, &six->sin6_addr, out, INET6_ADDRSTRLEN);
}

void server_remote(struct MHD_Connection *conn, char out[INET6_ADDRSTRLEN])
{
	const union MHD_ConnectionInfo *info = MHD_get_connection_info(conn, MHD_CONNECTION_INFO_CLIENT_ADDRESS);

	out[0] = '\0';
	if (info && info->client_addr)
		address_text(info->client_addr, out);
}

/* Our own end of this connection: what stands in the Host header when somebody typed the address. */
static void local_address(struct MHD_Connection *conn, char out[INET6_ADDRSTRLEN])
{
	const union MHD_ConnectionInfo *info = MHD_get_connection_info(conn, MHD_CONNECTION_INFO_CONNECTION_FD);
	struct sockaddr_storage address = {0};
	socklen_t size = sizeof address;

	out[0] = '\0';
	if (info && !getsockname(info->connect_fd, (struct sockaddr *)&address, &size))
		address_text((struct sockaddr *)&address, out);
}

static bool same_name(const char *a, size_t length, const char *b)
{
	return length == strlen(b) && !strncasecmp(a, b, length);
}

static bool listed(const char *name, size_t length, const char *names)
{
	while (names && *names) {
		size_t n;

		names += strspn(names, ", ");
		n = strcspn(names, ", ");
		if (n > 0 && n == length && !strncasecmp(name, names, n))
			return true;
		names += n;
	}
	return false;
}

/*
 * A foreign page can point its own host name at this machine's address and would then be, to the browser, a page of this
 * server. Its Host header gives it away: only names we know are answered.
 */
bool server_host_is_ours(struct MHD_Connection *conn, const char *names)
{
	const char *host = MHD_lookup_connection_value(conn, MHD_HEADER_KIND, "Host");
	char local[INET6_ADDRSTRLEN];
	size_t length;

	if (!host)
		return false;
	if (*host == '[') {
		host++;
		length = strcspn(host, "]");
	} else {
		length = strcspn(host, ":");
	}
	local_address(conn, local);
	return length > 0 && (same_name(host, length, "localhost") || (*local && same_name(host, length, local)) ||
			      listed(host, length, names));
}

struct cookies {
	const char *value;
	int count;
};

static enum MHD_Result on_cookie(void *cls, enum MHD_ValueKind kind, const char *name, const char *value)
{
	struct cookies *found = cls;

	(void)kind;
	if (!strcmp(name, SESSION_COOKIE)) {
		found->value = value;
		found->count++;
	}
	return MHD_YES;
}

const char *server_cookie(struct MHD_Connection *conn)
{
	static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
	struct cookies found = {0};
	size_t length;

	MHD_get_connection_values(conn, MHD_COOKIE_KIND, on_cookie, &found);
	if (found.count != 1 || !found.value) /* two of one name: one of them was planted */
		return NULL;
	length = strlen(found.value);
	return length > 0 && length <= 128 && strspn(found.value, plain) == length ? found.value : NULL;
}

enum status server_address(const char *listen, uint16_t port, struct sockaddr_storage *out, struct err *err)
{
	struct sockaddr_in *four = (struct sockaddr_in *)out;
	struct sockaddr_in6 *six = (struct sockaddr_in6 *)out;

	memset(out, 0, sizeof *out);
	if (!listen)
		listen = "127.0.0.1";
	if (inet_pton(AF_INET, listen, &four->sin_addr) == 1) {
		four->sin_family = AF_INET;
		four->sin_port = htons(port);
		return OK;
	}
	memset(out, 0, sizeof *out);
	if (inet_pton(AF_INET6, listen, &six->sin6_addr) == 1) {
		six->sin6_family = AF_INET6;
		six->sin6_port = htons(port);
		return OK;
	}
	return err_set(err, INVALID, "listen", "%s is no IPv4 or IPv6 address to listen on", listen);
}
