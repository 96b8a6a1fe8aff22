/* The key once it is open: what it says of itself, the check of its dates, and the one operation it is for. */
#include "seal_internal.h"

#include <openssl/err.h>
#include <openssl/x509v3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include "base/text.h"
#include "base/time.h"

const char *seal_crypto_reason(void)
{
	unsigned long code = ERR_peek_last_error();
	const char *reason = code ? ERR_reason_error_string(code) : NULL;

	ERR_clear_error();
	return reason ? reason : "no reason given";
}

int seal_crypto_code(void)
{
	return ERR_GET_REASON(ERR_peek_last_error());
}

void seal_name_text(const X509_NAME *name, char *out, size_t size)
{
	static const int parts[] = {NID_commonName, NID_organizationName};
	unsigned char *utf8 = NULL;
	int length = -1;

	for (size_t i = 0; i < 2 && length < 0; i++) {
		int at = X509_NAME_get_index_by_NID(name, parts[i], -1);

		if (at >= 0)
			length = ASN1_STRING_to_UTF8(&utf8, X509_NAME_ENTRY_get_data(X509_NAME_get_entry(name, at)));
	}
	if (length >= 0 && text_is_clean((const char *)utf8, (size_t)length)) {
		size_t n = (size_t)length < size ? (size_t)length : size - 1;

		while (n > 0 && n < (size_t)length && (utf8[n] & 0xc0U) == 0x80)
			n--;
		memcpy(out, utf8, n);
		out[n] = '\0';
	} else {
		snprintf(out, size, "(no name)");
	}
	OPENSSL_free(utf8);
}

int64_t seal_time_ms(const ASN1_TIME *t)
{
	struct tm tm;

	if (!t || !ASN1_TIME_to_tm(t, &tm))
		return INT64_MIN;
	return (int64_t)timegm(&tm) * 1000;
}

bool seal_is_self_signed(X509 *certificate)
{
	return X509_check_issued(certificate, certificate) == X509_V_OK;
}

void seal_key_free(struct seal_key *key)
{
	if (!key)
		return;
	EVP_PKEY_free(key->private);
	X509_free(key->certificate);
	sk_X509_pop_free(key->chain, X509_free);
	X509_free(key->root);
	pthread_mutex_destroy(&key->turn);
	free(key);
}

static X509 *issuer_among(X509 *certificate, STACK_OF(X509) * others)
{
	for (int i = 0; i < sk_X509_num(others); i++)
		if (X509_check_issued(sk_X509_value(others, i), certificate) == X509_V_OK)
			return sk_X509_value(others, i);
	return NULL;
}

#define CHAIN_MAX 8

/* From the certificate upwards; a circle of certificates ends at CHAIN_MAX. */
static bool find_chain(struct seal_key *key, STACK_OF(X509) * others)
{
	X509 *at = key->certificate;

	key->chain = sk_X509_new_null();
	for (int i = 0; at && key->chain && i < CHAIN_MAX; i++) {
		if (seal_is_self_signed(at)) {
			X509_up_ref(at);
			key->root = at;
			return true;
		}
		at = issuer_among(at, others);
		if (at && !seal_is_self_signed(at)) {
			X509_up_ref(at);
			if (!sk_X509_push(key->chain, at)) {
				X509_free(at);
				return false;
			}
		}
	}
	return key->chain;
}

static bool group_is_known(EVP_PKEY *public)
{
	char group[32];
	size_t length;

	return EVP_PKEY_get_group_name(public, group, sizeof group, &length) &&
	       (strcmp(group, "prime256v1") == 0 || strcmp(group, "secp384r1") == 0);
}

/* The certificate's public key is judged: that of a device shows less. */
static enum status check_kind(const struct seal_key *key, const char *where, struct err *err)
{
	EVP_PKEY *public = X509_get0_pubkey(key->certificate);
	int kind = public ? EVP_PKEY_get_base_id(public) : EVP_PKEY_NONE;
	uint32_t usage = X509_get_key_usage(key->certificate);

	if (kind == EVP_PKEY_EC ? !group_is_known(public) : kind != EVP_PKEY_RSA)
		return err_set(err, INVALID, "",
			       "the key of %s is of a kind that cannot seal: EC P-256, EC P-384 and RSA can", where);
	if (kind == EVP_PKEY_RSA && EVP_PKEY_get_bits(public) < 2048)
		return err_set(err, INVALID, "", "the RSA key of %s has %d bits; at least 2048 are needed", where,
			       EVP_PKEY_get_bits(public));
	if (!(usage & (KU_DIGITAL_SIGNATURE | KU_NON_REPUDIATION)))
		return err_set(err, INVALID, "",
			       "the certificate of %s is not meant for signatures (key usage neither digitalSignature "
			       "nor nonRepudiation)",
			       where);
	if (X509_check_private_key(key->certificate, key->private) != 1) {
		ERR_clear_error();
		return err_set(err, INVALID, "", "the key of %s does not belong to its certificate", where);
	}
	return OK;
}

enum status seal_key_assemble(enum seal_source source, EVP_PKEY *private, X509 *certificate, STACK_OF(X509) * others,
			      const char *where, struct seal_key **out, struct err *err)
{
	struct seal_key *key = calloc(1, sizeof *key);
	enum status rc;

	if (!key) {
		EVP_PKEY_free(private);
		X509_free(certificate);
		sk_X509_pop_free(others, X509_free);
		return err_set(err, NO_MEMORY, "", "out of memory");
	}
	pthread_mutex_init(&key->turn, NULL);
	key->source = source;
	key->private = private;
	key->certificate = certificate;
	key->in_turn = source == SEAL_TOKEN;
	if (find_chain(key, others))
		rc = check_kind(key, where, err);
	else
		rc = err_set(err, NO_MEMORY, "", "out of memory");
	sk_X509_pop_free(others, X509_free);
	if (rc)
		seal_key_free(key);
	else
		*out = key;
	return rc;
}

EVP_PKEY *seal_key_private(const struct seal_key *key)
{
	return key->private;
}

X509 *seal_key_certificate(const struct seal_key *key)
{
	return key->certificate;
}

STACK_OF(X509) * seal_key_chain(const struct seal_key *key)
{
	return key->chain;
}

X509 *seal_key_root(const struct seal_key *key)
{
	return key->root;
}

void seal_key_lock(struct seal_key *key)
{
	if (key->in_turn)
		pthread_mutex_lock(&key->turn);
}

void seal_key_unlock(struct seal_key *key)
{
	if (key->in_turn)
		pthread_mutex_unlock(&key->turn);
}

static void date_of(int64_t ms, char out[TIME_TEXT_SIZE])
{
	time_to_text(ms, out);
	out[10] = '\0';
}

enum status seal_key_check(const struct seal_key *key, int64_t now_ms, struct err *err)
{
	int64_t from = seal_time_ms(X509_get0_notBefore(key->certificate));
	int64_t to = seal_time_ms(X509_get0_notAfter(key->certificate));
	char name[SEAL_NAME_SIZE], date[TIME_TEXT_SIZE];

	seal_name_text(X509_get_subject_name(key->certificate), name, sizeof name);
	if (from == INT64_MIN || to == INT64_MIN)
		return err_set(err, INVALID, "", "the seal certificate %.150s has no readable dates", name);
	if (now_ms < from) {
		date_of(from, date);
		return err_set(err, INVALID, "", "the seal certificate %.150s is not valid before %s", name, date);
	}
	if (now_ms > to) {
		date_of(to, date);
		return err_set(err, INVALID, "", "the seal certificate %.150s expired on %s", name, date);
	}
	return OK;
}

enum status seal_key_sign(struct seal_key *key, const void *bytes, size_t size, unsigned char **signature,
			  size_t *signature_size, struct err *err)
{
	EVP_MD_CTX *context = EVP_MD_CTX_new();
	unsigned char *room = NULL;
	size_t length = 0;
	bool done;

	seal_key_lock(key);
	done = context && EVP_DigestSignInit(context, NULL, EVP_sha256(), NULL, key->private) == 1 &&
	       EVP_DigestSign(context, NULL, &length, bytes, size) == 1 && (room = malloc(length)) &&
	       EVP_DigestSign(context, room, &length, bytes, size) == 1;
	seal_key_unlock(key);
	EVP_MD_CTX_free(context);
	if (!done) {
		free(room);
		return err_set(err, FAILED, "", "the seal key could not sign: %s", seal_crypto_reason());
	}
	*signature = room;
	*signature_size = length;
	return OK;
}

void seal_fingerprint(const X509 *certificate, char out[SEAL_FINGERPRINT_SIZE])
{
	unsigned char hash[EVP_MAX_MD_SIZE];
	unsigned int size = 0;

	out[0] = '\0';
	if (!X509_digest(certificate, EVP_sha256(), hash, &size))
		return;
	for (unsigned int i = 0; i < size; i++)
		snprintf(out + 3 * i, SEAL_FINGERPRINT_SIZE - 3 * i, i + 1 < size ? "%02X:" : "%02X", hash[i]);
}

static void algorithm_text(const X509 *certificate, char *out, size_t size)
{
	EVP_PKEY *public = X509_get0_pubkey(certificate);

	if (EVP_PKEY_get_base_id(public) == EVP_PKEY_EC)
		snprintf(out, size, "EC P-%d", EVP_PKEY_get_bits(public));
	else
		snprintf(out, size, "RSA %d", EVP_PKEY_get_bits(public));
}

void seal_key_facts(const struct seal_key *key, struct seal_key_facts *out)
{
	*out = (struct seal_key_facts){.source = key->source};
	seal_name_text(X509_get_subject_name(key->certificate), out->subject, sizeof out->subject);
	seal_name_text(X509_get_issuer_name(key->certificate), out->issuer, sizeof out->issuer);
	algorithm_text(key->certificate, out->algorithm, sizeof out->algorithm);
	out->not_before_ms = seal_time_ms(X509_get0_notBefore(key->certificate));
	out->not_after_ms = seal_time_ms(X509_get0_notAfter(key->certificate));
	seal_fingerprint(key->certificate, out->fingerprint);
	if (key->root) {
		seal_fingerprint(key->root, out->root_fingerprint);
		seal_name_text(X509_get_subject_name(key->root), out->root_subject, sizeof out->root_subject);
	}
	snprintf(out->warning, sizeof out->warning, "%s", key->warning);
}
