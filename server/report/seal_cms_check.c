/*
 * The check of a signature value. Every byte of it must matter: what the signature does not cover (certificates, versions,
 * algorithms) is held against what it may be, so that a changed byte is found wherever it stands.
 */
#include <openssl/err.h>
#include <openssl/ess.h>
#include <openssl/sha.h>
#include <openssl/x509_vfy.h>
#include <openssl/x509v3.h>
#include <stdlib.h>
#include <string.h>
#include "seal_cms.h"
#include "seal_internal.h"
#include "seal_stamp_internal.h"

#define CERTIFICATES_MAX 16

/* Encodes again to the same bytes: DER, and nothing that the reader passed over. */
static bool is_canonical(CMS_ContentInfo *cms, const unsigned char *der, size_t size)
{
	unsigned char *again = NULL;
	int n = i2d_CMS_ContentInfo(cms, &again);
	bool same = n > 0 && (size_t)n == size && memcmp(again, der, size) == 0;

	OPENSSL_free(again);
	return same;
}

/* Names are compared by OpenSSL without regard to case and spaces; here each byte counts. */
static bool names_exactly(CMS_SignerInfo *si, X509 *signer)
{
	unsigned char *stated = NULL, *real = NULL;
	X509_NAME *issuer = NULL;
	int n, m;
	bool same;

	if (CMS_SignerInfo_get0_signer_id(si, NULL, &issuer, NULL) != 1 || !issuer)
		return false;
	n = i2d_X509_NAME(issuer, &stated);
	m = i2d_X509_NAME(X509_get_issuer_name(signer), &real);
	same = n > 0 && n == m && memcmp(stated, real, (size_t)n) == 0;
	OPENSSL_free(stated);
	OPENSSL_free(real);
	return same;
}

static CMS_SignerInfo *only_signer(CMS_ContentInfo *cms, STACK_OF(X509) * bag, X509 **signer)
{
	STACK_OF(CMS_SignerInfo) *all = CMS_get0_SignerInfos(cms);
	CMS_SignerInfo *si = sk_CMS_SignerInfo_num(all) == 1 ? sk_CMS_SignerInfo_value(all, 0) : NULL;

	*signer = NULL;
	for (int i = 0; si && i < sk_X509_num(bag); i++)
		if (CMS_SignerInfo_cert_cmp(si, sk_X509_value(bag, i)) == 0)
			*signer = sk_X509_value(bag, i);
	if (!*signer || !names_exactly(si, *signer))
		return NULL;
	CMS_SignerInfo_set1_signer_cert(si, *signer);
	return si;
}

/* Every certificate that comes along issued the one before it, from the signer's upwards. */
static bool bag_is_chain(STACK_OF(X509) * bag, X509 *signer)
{
	bool used[CERTIFICATES_MAX] = {false};
	X509 *at = signer;
	int count = sk_X509_num(bag), linked = 1;

	if (count < 1 || count > CERTIFICATES_MAX)
		return false;
	for (int i = 0; i < count; i++)
		if (sk_X509_value(bag, i) == signer)
			used[i] = true;
	for (bool found = true; found && linked < count;) {
		found = false;
		for (int i = 0; i < count && !found; i++) {
			X509 *next = sk_X509_value(bag, i);

			if (used[i] || X509_check_issued(next, at) != X509_V_OK ||
			    X509_verify(at, X509_get0_pubkey(next)) != 1)
				continue;
			used[i] = found = true;
			at = next;
			linked++;
		}
	}
	return linked == count;
}

/* Exactly the three attributes of CAdES B; a signing time is forbidden (ETSI EN 319 142-1 6.3). */
static bool attributes_are_ours(CMS_SignerInfo *si)
{
	const ASN1_OBJECT *type;

	if (CMS_signed_get_attr_count(si) != 3 ||
	    CMS_signed_get_attr_by_NID(si, NID_id_smime_aa_signingCertificateV2, -1) < 0 ||
	    CMS_signed_get_attr_by_NID(si, NID_pkcs9_messageDigest, -1) < 0)
		return false;
	type = CMS_signed_get0_data_by_OBJ(si, OBJ_nid2obj(NID_pkcs9_contentType), -3, V_ASN1_OBJECT);
	if (!type || OBJ_obj2nid(type) != NID_pkcs7_data)
		return false;
	return CMS_unsigned_get_attr_count(si) <= 0 ||
	       (CMS_unsigned_get_attr_count(si) == 1 &&
		CMS_unsigned_get_attr_by_NID(si, NID_id_smime_aa_timeStampToken, -1) == 0);
}

/* The signed attributes name the certificate by its hash, so another one with the same key does not do (RFC 5035). */
static bool certificate_is_named(CMS_SignerInfo *si, X509 *signer)
{
	const ASN1_STRING *der = CMS_signed_get0_data_by_OBJ(si, OBJ_nid2obj(NID_id_smime_aa_signingCertificateV2), -3,
							     V_ASN1_SEQUENCE);
	const unsigned char *at = der ? ASN1_STRING_get0_data(der) : NULL;
	ESS_SIGNING_CERT_V2 *named = at ? d2i_ESS_SIGNING_CERT_V2(NULL, &at, ASN1_STRING_length(der)) : NULL;
	STACK_OF(X509) *chain = sk_X509_new_null();
	bool same = named && chain && sk_X509_push(chain, signer) &&
		    OSSL_ESS_check_signing_certs(NULL, named, chain, 1) == 1;

	sk_X509_free(chain);
	ESS_SIGNING_CERT_V2_free(named);
	return same;
}

static bool key_may_sign(X509 *signer)
{
	EVP_PKEY *public = X509_get0_pubkey(signer);

	return public && (X509_get_key_usage(signer) & (KU_DIGITAL_SIGNATURE | KU_NON_REPUDIATION)) &&
	       EVP_PKEY_get_security_bits(public) >= 112; /* RSA 2048 and above, NIST SP 800-57-1 table 2 */
}

static bool digest_is(CMS_SignerInfo *si, const unsigned char sha256[32])
{
	const ASN1_STRING *stated = CMS_signed_get0_data_by_OBJ(si, OBJ_nid2obj(NID_pkcs9_messageDigest), -3,
								V_ASN1_OCTET_STRING);

	return stated && ASN1_STRING_length(stated) == 32 && memcmp(ASN1_STRING_get0_data(stated), sha256, 32) == 0;
}

static enum seal_trust judge_chain(X509 *signer, STACK_OF(X509) * bag, const struct seal_roots *roots, int64_t at_ms)
{
	X509_STORE *store = roots && seal_roots_count(roots) ? seal_roots_at(roots, at_ms) : NULL;
	X509_STORE_CTX *context = X509_STORE_CTX_new();
	enum seal_trust trust = SEAL_TRUST_NO_ROOT;

	if (store && context && X509_STORE_CTX_init(context, store, signer, bag) == 1) {
		X509_STORE_CTX_set_purpose(context, X509_PURPOSE_ANY);
		if (X509_verify_cert(context) == 1) {
			trust = SEAL_TRUST_YES;
		} else {
			int why = X509_STORE_CTX_get_error(context);

			if (why == X509_V_ERR_CERT_HAS_EXPIRED || why == X509_V_ERR_CERT_NOT_YET_VALID)
				trust = SEAL_TRUST_EXPIRED;
		}
	}
	X509_STORE_CTX_free(context);
	X509_STORE_free(store);
	return trust;
}

/* A time stamp, if there is one; false when it is there but for something else or damaged. */
static bool judge_stamp(CMS_SignerInfo *si, const struct seal_roots *stamp_roots, struct seal_signature *out)
{
	const ASN1_OCTET_STRING *value = CMS_SignerInfo_get0_signature(si);
	const ASN1_STRING *token;
	struct stamp_facts facts;
	unsigned char sha256[32];

	if (CMS_unsigned_get_attr_count(si) <= 0)
		return true;
	token = CMS_unsigned_get0_data_by_OBJ(si, OBJ_nid2obj(NID_id_smime_aa_timeStampToken), -3, V_ASN1_SEQUENCE);
	SHA256(ASN1_STRING_get0_data(value), (size_t)ASN1_STRING_length(value), sha256);
	if (!token)
		return false;
	switch (seal_stamp_judge(ASN1_STRING_get0_data(token), (size_t)ASN1_STRING_length(token), sha256, NULL,
				 stamp_roots, &facts)) {
	case STAMP_GOOD:
		out->time = SEAL_TIME_STAMPED;
		out->at_ms = facts.at_ms;
		break;
	case STAMP_UNTRUSTED:
		out->time = SEAL_TIME_STAMP_UNTRUSTED;
		break;
	default:
		return false;
	}
	memcpy(out->stamped_by, facts.signer, sizeof out->stamped_by);
	return true;
}

static enum seal_fault check_signer(CMS_ContentInfo *cms, STACK_OF(X509) * bag, const unsigned char sha256[32],
				    const struct seal_roots *roots, const struct seal_roots *stamp_roots,
				    struct seal_signature *out)
{
	X509 *signer;
	CMS_SignerInfo *si = only_signer(cms, bag, &signer);

	if (!si || !bag_is_chain(bag, signer) || !attributes_are_ours(si) || !key_may_sign(signer))
		return SEAL_FAULT_SIGNATURE;
	seal_name_text(X509_get_subject_name(signer), out->signer, sizeof out->signer);
	seal_name_text(X509_get_issuer_name(signer), out->issuer, sizeof out->issuer);
	seal_fingerprint(signer, out->fingerprint);
	if (CMS_SignerInfo_verify(si) != 1 || !certificate_is_named(si, signer))
		return SEAL_FAULT_SIGNATURE;
	if (!digest_is(si, sha256))
		return SEAL_FAULT_CONTENT;
	out->intact = true;
	out->trust = judge_stamp(si, stamp_roots, out) ? judge_chain(signer, bag, roots, out->at_ms) : SEAL_TRUST_STAMP;
	return SEAL_FAULT_NONE;
}

enum seal_fault seal_cms_check(const unsigned char *der, size_t size, const unsigned char sha256[32],
			       const struct seal_roots *roots, const struct seal_roots *stamp_roots,
			       struct seal_signature *out)
{
	const unsigned char *at = der;
	enum seal_fault fault = SEAL_FAULT_SIGNATURE;
	CMS_ContentInfo *cms = seal_cms_form(der, size) ? d2i_CMS_ContentInfo(NULL, &at, (long)size) : NULL;

	if (cms && at == der + size && is_canonical(cms, der, size)) {
		STACK_OF(X509) *bag = CMS_get1_certs(cms);
		STACK_OF(X509_CRL) *crls = CMS_get1_crls(cms);

		if (bag && !crls)
			fault = check_signer(cms, bag, sha256, roots, stamp_roots, out);
		sk_X509_pop_free(bag, X509_free);
		sk_X509_CRL_pop_free(crls, X509_CRL_free);
	}
	CMS_ContentInfo_free(cms);
	ERR_clear_error();
	return fault;
}
