/*
 * OpenSSL's own signing always adds a signing time, which PAdES forbids (the time stands in the PDF), so the signed
 * attributes are put together here and the key signs them once.
 */
#include "seal_cms.h"

#include <openssl/err.h>
#include <openssl/sha.h>
#include <stdlib.h>
#include <string.h>
#include "seal_internal.h"

#define ATTRIBUTES_MAX 8

struct der {
	unsigned char *bytes;
	int size;
};

/* DER orders a SET OF by its elements' encodings (X.690 11.6). */
static int by_encoding(const void *a, const void *b)
{
	const struct der *x = a, *y = b;
	int n = x->size < y->size ? x->size : y->size, order = memcmp(x->bytes, y->bytes, (size_t)n);

	return order ? order : (x->size > y->size) - (x->size < y->size);
}

static unsigned char *join(const struct der *parts, int count, size_t *size)
{
	int content = 0;
	unsigned char *set, *at;

	for (int i = 0; i < count; i++)
		content += parts[i].size;
	*size = (size_t)ASN1_object_size(1, content, V_ASN1_SET);
	set = at = malloc(*size);
	if (!set)
		return NULL;
	ASN1_put_object(&at, 1, content, V_ASN1_SET, V_ASN1_UNIVERSAL);
	for (int i = 0; i < count; i++) {
		memcpy(at, parts[i].bytes, (size_t)parts[i].size);
		at += parts[i].size;
	}
	return set;
}

/* The signed attributes as they are signed: SET OF, in order. malloc'ed. */
static unsigned char *signed_attributes(CMS_SignerInfo *si, size_t *size)
{
	struct der parts[ATTRIBUTES_MAX] = {{0}};
	int count = CMS_signed_get_attr_count(si);
	unsigned char *set = NULL;
	bool whole = count > 0 && count <= ATTRIBUTES_MAX;

	for (int i = 0; whole && i < count; i++) {
		parts[i].size = i2d_X509_ATTRIBUTE(CMS_signed_get_attr(si, i), &parts[i].bytes);
		whole = parts[i].size > 0;
	}
	if (whole) {
		qsort(parts, (size_t)count, sizeof *parts, by_encoding);
		set = join(parts, count, size);
	}
	for (int i = 0; i < ATTRIBUTES_MAX; i++)
		OPENSSL_free(parts[i].bytes);
	return set;
}

static enum status crypto_failed(struct err *err)
{
	return err_set(err, FAILED, "", "the signature could not be made: %s", seal_crypto_reason());
}

static CMS_SignerInfo *begin(struct seal_key *key, const unsigned char sha256[32], CMS_ContentInfo **cms)
{
	CMS_SignerInfo *si;

	*cms = CMS_sign(NULL, NULL, seal_key_chain(key), NULL,
			CMS_DETACHED | CMS_BINARY | CMS_PARTIAL | CMS_NOSMIMECAP);
	if (!*cms)
		return NULL;
	si = CMS_add1_signer(*cms, seal_key_certificate(key), seal_key_private(key), EVP_sha256(),
			     CMS_CADES | CMS_NOSMIMECAP);
	if (si &&
	    CMS_signed_add1_attr_by_NID(si, NID_pkcs9_contentType, V_ASN1_OBJECT, OBJ_nid2obj(NID_pkcs7_data), -1) &&
	    CMS_signed_add1_attr_by_NID(si, NID_pkcs9_messageDigest, V_ASN1_OCTET_STRING, sha256, 32))
		return si;
	return NULL;
}

static enum status sign(struct seal_key *key, CMS_SignerInfo *si, struct err *err)
{
	unsigned char *signature = NULL;
	size_t size = 0, signature_size = 0;
	unsigned char *attributes = signed_attributes(si, &size);
	enum status rc;

	if (!attributes)
		return crypto_failed(err);
	rc = seal_key_sign(key, attributes, size, &signature, &signature_size, err);
	free(attributes);
	if (!rc && !ASN1_STRING_set(CMS_SignerInfo_get0_signature(si), signature, (int)signature_size))
		rc = crypto_failed(err);
	free(signature);
	return rc;
}

/* RFC 5126 6.1.1: what is stamped is the value of the signature. */
static enum status stamp(CMS_SignerInfo *si, const struct seal_stamp_authority *authority, struct err *err)
{
	const ASN1_OCTET_STRING *value = CMS_SignerInfo_get0_signature(si);
	unsigned char sha256[32], *token = NULL;
	size_t size = 0;
	int64_t at;
	enum status rc;

	SHA256(ASN1_STRING_get0_data(value), (size_t)ASN1_STRING_length(value), sha256);
	rc = seal_stamp_get(authority, sha256, &token, &size, &at, err);
	if (!rc &&
	    !CMS_unsigned_add1_attr_by_NID(si, NID_id_smime_aa_timeStampToken, V_ASN1_SEQUENCE, token, (int)size))
		rc = crypto_failed(err);
	free(token);
	return rc;
}

static enum status encode(CMS_ContentInfo *cms, unsigned char **der, size_t *size, struct err *err)
{
	unsigned char *encoded = NULL;
	int n = i2d_CMS_ContentInfo(cms, &encoded);

	if (n <= 0)
		return crypto_failed(err);
	*der = malloc((size_t)n);
	if (*der)
		memcpy(*der, encoded, (size_t)n);
	OPENSSL_free(encoded);
	*size = (size_t)n;
	return *der ? OK : err_set(err, NO_MEMORY, "", "out of memory");
}

enum status seal_cms_make(struct seal_key *key, const unsigned char sha256[32],
			  const struct seal_stamp_authority *authority, unsigned char **der, size_t *size,
			  struct err *err)
{
	CMS_ContentInfo *cms = NULL;
	CMS_SignerInfo *si;
	enum status rc;

	seal_key_lock(key);
	si = begin(key, sha256, &cms);
	seal_key_unlock(key);
	rc = si ? sign(key, si, err) : crypto_failed(err);
	if (!rc && authority)
		rc = stamp(si, authority, err);
	if (!rc)
		rc = encode(cms, der, size, err);
	CMS_ContentInfo_free(cms);
	return rc;
}
