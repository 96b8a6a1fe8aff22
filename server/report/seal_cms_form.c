/* A walk over the outer DER of a signature. */
#include <openssl/err.h>
#include <string.h>
#include "seal_cms.h"

struct walk {
	const unsigned char *at, *end;
	bool failed;
};

/* Enters the next element, which must have that tag and class; what it holds comes back, the walk stands behind it. */
static struct walk enter(struct walk *w, int tag, int class)
{
	struct walk inside = {.failed = true};
	const unsigned char *at = w->at;
	long length;
	int found_tag, found_class, flags;

	if (w->failed || at >= w->end)
		return inside;
	flags = ASN1_get_object(&at, &length, &found_tag, &found_class, w->end - at);
	if ((flags & 0x81) || found_tag != tag || found_class != class) { /* 0x80 an error, 1 indefinite length */
		ERR_clear_error();
		w->failed = true;
		return inside;
	}
	inside = (struct walk){.at = at, .end = at + length};
	w->at = inside.end;
	return inside;
}

static bool holds(const struct walk *w, const void *bytes, size_t size)
{
	return !w->failed && (size_t)(w->end - w->at) == size && memcmp(w->at, bytes, size) == 0;
}

static const unsigned char one[] = {1};
/* 1.2.840.113549.1.7.2 and .1: signedData and data; 2.16.840.1.101.3.4.2.1: SHA-256 */
static const unsigned char signed_data[] = {0x2a, 0x86, 0x48, 0x86, 0xf7, 0x0d, 0x01, 0x07, 0x02};
static const unsigned char data_content[] = {0x06, 0x09, 0x2a, 0x86, 0x48, 0x86, 0xf7, 0x0d, 0x01, 0x07, 0x01};
static const unsigned char sha256_bare[] = {0x06, 0x09, 0x60, 0x86, 0x48, 0x01, 0x65, 0x03, 0x04, 0x02, 0x01};
static const unsigned char sha256_null[] = {0x06, 0x09, 0x60, 0x86, 0x48, 0x01, 0x65,
					    0x03, 0x04, 0x02, 0x01, 0x05, 0x00};

static bool is_sha256(const struct walk *algorithm)
{
	return holds(algorithm, sha256_bare, sizeof sha256_bare) || holds(algorithm, sha256_null, sizeof sha256_null);
}

static bool is_signature_algorithm(const struct walk *w)
{
	/* ecdsa-with-SHA256; rsaEncryption and sha256WithRSAEncryption, both with NULL (RFC 3370, RFC 5754) */
	static const unsigned char ecdsa[] = {0x06, 0x08, 0x2a, 0x86, 0x48, 0xce, 0x3d, 0x04, 0x03, 0x02};
	static const unsigned char rsa[] = {0x06, 0x09, 0x2a, 0x86, 0x48, 0x86, 0xf7,
					    0x0d, 0x01, 0x01, 0x01, 0x05, 0x00};
	static const unsigned char rsa_sha256[] = {0x06, 0x09, 0x2a, 0x86, 0x48, 0x86, 0xf7,
						   0x0d, 0x01, 0x01, 0x0b, 0x05, 0x00};

	return holds(w, ecdsa, sizeof ecdsa) || holds(w, rsa, sizeof rsa) || holds(w, rsa_sha256, sizeof rsa_sha256);
}

/* SignerInfo (RFC 5652 5.3): version, sid, digest, signed attributes, signature algorithm, signature, unsigned. */
static bool signer_form(struct walk *signer)
{
	struct walk version = enter(signer, V_ASN1_INTEGER, V_ASN1_UNIVERSAL);
	struct walk sid = enter(signer, V_ASN1_SEQUENCE, V_ASN1_UNIVERSAL);
	struct walk digest = enter(signer, V_ASN1_SEQUENCE, V_ASN1_UNIVERSAL);
	struct walk attributes = enter(signer, 0, V_ASN1_CONTEXT_SPECIFIC);
	struct walk algorithm = enter(signer, V_ASN1_SEQUENCE, V_ASN1_UNIVERSAL);
	struct walk value = enter(signer, V_ASN1_OCTET_STRING, V_ASN1_UNIVERSAL);

	if (!holds(&version, one, 1) || sid.failed || !is_sha256(&digest) || attributes.failed ||
	    !is_signature_algorithm(&algorithm) || value.failed)
		return false;
	if (signer->at < signer->end)
		enter(signer, 1, V_ASN1_CONTEXT_SPECIFIC);
	return !signer->failed && signer->at == signer->end;
}

bool seal_cms_form(const unsigned char *der, size_t size)
{
	struct walk file = {.at = der, .end = der + size};
	struct walk info = enter(&file, V_ASN1_SEQUENCE, V_ASN1_UNIVERSAL);
	struct walk type = enter(&info, V_ASN1_OBJECT, V_ASN1_UNIVERSAL);
	struct walk tagged = enter(&info, 0, V_ASN1_CONTEXT_SPECIFIC);
	struct walk data = enter(&tagged, V_ASN1_SEQUENCE, V_ASN1_UNIVERSAL);
	struct walk version = enter(&data, V_ASN1_INTEGER, V_ASN1_UNIVERSAL);
	struct walk digests = enter(&data, V_ASN1_SET, V_ASN1_UNIVERSAL);
	struct walk digest = enter(&digests, V_ASN1_SEQUENCE, V_ASN1_UNIVERSAL);
	struct walk content = enter(&data, V_ASN1_SEQUENCE, V_ASN1_UNIVERSAL);
	struct walk certificates = enter(&data, 0, V_ASN1_CONTEXT_SPECIFIC);
	struct walk signers = enter(&data, V_ASN1_SET, V_ASN1_UNIVERSAL);
	struct walk signer = enter(&signers, V_ASN1_SEQUENCE, V_ASN1_UNIVERSAL);

	return !signer.failed && !certificates.failed && file.at == file.end && info.at == info.end &&
	       tagged.at == tagged.end && data.at == data.end && digests.at == digests.end &&
	       signers.at == signers.end && holds(&type, signed_data, sizeof signed_data) && holds(&version, one, 1) &&
	       is_sha256(&digest) && holds(&content, data_content, sizeof data_content) && signer_form(&signer);
}
