/* Judging a sealed document: its form first (dcc_form.c), then the arithmetic by xmlsec, then whom it rests on. */
#include <libxml/parser.h>
#include <openssl/evp.h>
#include <openssl/x509_vfy.h>
#include <openssl/x509v3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <xmlsec/openssl/crypto.h>
#include <xmlsec/openssl/evp.h>
#include <xmlsec/xmldsig.h>
#include <xmlsec/xmlsec.h>
#include <xmlsec/xmltree.h>
#include "base/time.h"
#include "dcc_seal.h"
#include "dcc_tree.h"
#include "dcc_xml.h"
#include "seal_internal.h"

static enum dcc_fault blame(struct dcc_report *out, enum dcc_fault fault, const char *sentence)
{
	out->fault = fault;
	snprintf(out->sentence, sizeof out->sentence, "%s", sentence);
	return fault;
}

/* The root's certificate number, for the sentence and for whoever compares it with the plant's own list. */
static void read_number(xmlNodePtr node, struct dcc_report *out)
{
	for (; node && !out->number[0]; node = node->next) {
		if (node->type != XML_ELEMENT_NODE)
			continue;
		if (xmlStrEqual(node->name, BAD_CAST "uniqueIdentifier")) {
			xmlChar *text = xmlNodeGetContent(node);

			snprintf(out->number, sizeof out->number, "%.63s", text ? (const char *)text : "");
			xmlFree(text);
			return;
		}
		read_number(node->children, out);
	}
}

static bool has_signature(xmlNodePtr node)
{
	for (; node; node = node->next)
		if (node->type == XML_ELEMENT_NODE &&
		    (xmlStrEqual(node->name, BAD_CAST "Signature") || has_signature(node->children)))
			return true;
	return false;
}

/* NULL with the fault noted. A document type is refused unread: it could make the text say anything. */
static xmlDocPtr read_document(const char *xml, size_t size, struct dcc_report *out)
{
	size_t head = strlen(DECLARATION);
	xmlDocPtr doc = NULL;
	xmlNodePtr root;

	if (size > head && size <= DOCUMENT_SIZE_MAX && !memmem(xml, size, "<!DOCTYPE", 9))
		doc = xmlReadMemory(xml, (int)size, NULL, NULL,
				    XML_PARSE_NONET | XML_PARSE_NOERROR | XML_PARSE_NOWARNING);
	root = doc ? xmlDocGetRootElement(doc) : NULL;
	if (!root || doc->intSubset || !xmlStrEqual(root->name, BAD_CAST "digitalCalibrationCertificate") ||
	    !root->ns || !xmlStrEqual(root->ns->href, BAD_CAST DCC_NAMESPACE)) {
		blame(out, DCC_FAULT_UNREADABLE, "This is no calibration certificate in XML, or it is damaged.");
		xmlFreeDoc(doc);
		return NULL;
	}
	read_number(root, out);
	if (has_signature(root->children) && memcmp(xml, DECLARATION, head) == 0)
		return doc;
	if (has_signature(root->children))
		blame(out, DCC_FAULT_FORM, "This is not the form of a seal made here: it begins in another way.");
	else
		blame(out, DCC_FAULT_NOT_SEALED, "This certificate carries no seal.");
	xmlFreeDoc(doc);
	return NULL;
}

/* The signer's public key, with which alone the signature is tried: keys that the document offers are not looked at. */
static xmlSecKeyPtr public_key(X509 *certificate)
{
	EVP_PKEY *key = X509_get_pubkey(certificate);
	xmlSecKeyDataPtr data = key ? xmlSecOpenSSLEvpKeyAdopt(key) : NULL;
	xmlSecKeyPtr out = data ? xmlSecKeyCreate() : NULL;

	if (!data)
		EVP_PKEY_free(key);
	if (out && xmlSecKeySetValue(out, data) == 0)
		return out;
	if (data)
		xmlSecKeyDataDestroy(data);
	if (out)
		xmlSecKeyDestroy(out);
	return NULL;
}

/* Which of the two, when the arithmetic fails: a changed content, or a signature that is none. */
static enum dcc_fault which_fault(xmlSecDSigCtxPtr context)
{
	for (xmlSecSize i = 0; i < xmlSecPtrListGetSize(&context->signedInfoReferences); i++) {
		xmlSecDSigReferenceCtxPtr r = xmlSecPtrListGetItem(&context->signedInfoReferences, i);

		if (r && r->status == xmlSecDSigStatusInvalid)
			return DCC_FAULT_CONTENT;
	}
	return DCC_FAULT_SIGNATURE;
}

static bool arithmetic(xmlDocPtr doc, const struct dcc_form *form, struct dcc_report *out)
{
	xmlSecDSigCtxPtr context = xmlSecDSigCtxCreate(NULL);
	xmlAttrPtr id = xmlHasProp(form->properties, BAD_CAST "Id");
	enum dcc_fault fault = DCC_FAULT_SIGNATURE;

	if (!context)
		return false;
	context->enabledReferenceUris = xmlSecTransformUriTypeEmpty | xmlSecTransformUriTypeSameDocument;
	context->signKey = public_key(form->certificate);
	if (context->signKey && xmlAddID(NULL, doc, BAD_CAST ID_SEAL_PROPERTIES, id)) {
		bool done = xmlSecDSigCtxVerify(context, form->signature) == 0;

		if (done && context->status == xmlSecDSigStatusSucceeded &&
		    xmlSecPtrListGetSize(&context->signedInfoReferences) == 2)
			fault = DCC_FAULT_NONE;
		else
			fault = which_fault(context);
	}
	xmlSecDSigCtxDestroy(context);
	if (fault == DCC_FAULT_CONTENT)
		blame(out, fault, "The certificate was changed after it was sealed.");
	else if (fault)
		blame(out, fault, "The seal is damaged, or was made with another key than its certificate says.");
	return !fault;
}

static bool certificates_are_bound(const struct dcc_form *form, struct dcc_report *out)
{
	for (size_t i = 0; i < form->n_digests; i++) {
		const X509 *x = i == 0 ? form->certificate : sk_X509_value(form->chain, (int)i - 1);
		unsigned char digest[EVP_MAX_MD_SIZE];

		if (X509_digest(x, EVP_sha256(), digest, NULL) == 1 &&
		    memcmp(digest, form->digest[i], DIGEST_SIZE) == 0)
			continue;
		blame(out, DCC_FAULT_SIGNATURE, "The seal was made under other certificates than it carries.");
		return false;
	}
	return true;
}

static void fingerprint_of(X509 *certificate, char out[SEAL_FINGERPRINT_SIZE])
{
	unsigned char digest[EVP_MAX_MD_SIZE];

	if (X509_digest(certificate, EVP_sha256(), digest, NULL) != 1)
		return;
	for (size_t i = 0; i < DIGEST_SIZE; i++)
		snprintf(out + 3 * i, SEAL_FINGERPRINT_SIZE - 3 * i, "%02X%s", digest[i],
			 i + 1 < DIGEST_SIZE ? ":" : "");
}

/* The chain to a given root, judged at the claimed time; the certificate's key may sign. */
static enum seal_trust trust_in(const struct dcc_form *form, X509_STORE *store, int64_t at_ms)
{
	X509_STORE_CTX *context = store ? X509_STORE_CTX_new() : NULL;
	uint32_t usage = X509_get_key_usage(form->certificate);
	enum seal_trust trust = SEAL_TRUST_NO_ROOT;

	if (!context || !X509_STORE_CTX_init(context, store, form->certificate, form->chain)) {
		X509_STORE_CTX_free(context);
		return trust;
	}
	X509_STORE_CTX_set_purpose(context, X509_PURPOSE_ANY);
	X509_STORE_CTX_set_time(context, 0, (time_t)(at_ms / 1000));
	if (X509_verify_cert(context) == 1) {
		if (usage & (KU_DIGITAL_SIGNATURE | KU_NON_REPUDIATION))
			trust = SEAL_TRUST_YES;
	} else if (X509_STORE_CTX_get_error(context) == X509_V_ERR_CERT_HAS_EXPIRED ||
		   X509_STORE_CTX_get_error(context) == X509_V_ERR_CERT_NOT_YET_VALID) {
		trust = SEAL_TRUST_EXPIRED;
	}
	X509_STORE_CTX_free(context);
	return trust;
}

/* True when writing the tree anew gives the bytes themselves. */
static bool same_bytes(xmlDocPtr doc, const char *xml, size_t size)
{
	struct err err = {0};
	size_t again_size;
	char *again;
	bool same;

	if (dcc_xml_bytes(doc, false, &again, &again_size, &err))
		return false;
	same = again_size == size && memcmp(again, xml, size) == 0;
	free(again);
	return same;
}

static void conclude(struct dcc_report *out)
{
	char when[TIME_TEXT_SIZE];

	time_to_text(out->at_ms, when);
	out->sound = true;
	out->trusted = out->trust == SEAL_TRUST_YES;
	if (out->trusted)
		snprintf(out->sentence, sizeof out->sentence, "Sealed by %s on %.10s; nothing was changed since.%s",
			 out->signer, when,
			 out->as_written ? "" : " Another program has written the file anew, without changing it.");
	else if (out->trust == SEAL_TRUST_EXPIRED)
		snprintf(
			out->sentence, sizeof out->sentence,
			"Nothing was changed since the seal, but %s could not seal on %.10s: the seal certificate was not valid then.",
			out->signer, when);
	else
		snprintf(out->sentence, sizeof out->sentence,
			 "Nothing was changed since the seal, but %s is nobody whose seals are trusted here.",
			 out->signer);
}

static void judge_seal(xmlDocPtr doc, const char *xml, size_t size, X509_STORE *store, struct dcc_report *out)
{
	struct dcc_form form;
	char sentence[sizeof out->sentence];

	if (!dcc_form_read(doc, &form, sentence)) {
		blame(out, DCC_FAULT_FORM, sentence);
	} else if (!time_from_text(form.time, &out->at_ms)) {
		blame(out, DCC_FAULT_FORM, "This is not the form of a seal made here: it does not say when.");
	} else if (certificates_are_bound(&form, out) && arithmetic(doc, &form, out)) {
		seal_name_text(X509_get_subject_name(form.certificate), out->signer, sizeof out->signer);
		seal_name_text(X509_get_issuer_name(form.certificate), out->issuer, sizeof out->issuer);
		fingerprint_of(form.certificate, out->fingerprint);
		out->trust = trust_in(&form, store, out->at_ms);
		out->as_written = same_bytes(doc, xml, size);
		conclude(out);
	}
	dcc_form_clear(&form);
}

enum status dcc_unseal(const char *xml, size_t size, X509_STORE *store, struct dcc_report *out, struct err *err)
{
	xmlDocPtr doc;

	*out = (struct dcc_report){0};
	if (!dcc_xmlsec_begin())
		return err_set(err, FAILED, "", "the library for XML signatures cannot be started");
	doc = read_document(xml, size, out);
	if (doc)
		judge_seal(doc, xml, size, store, out);
	xmlFreeDoc(doc);
	return OK;
}

const char *dcc_fault_word(enum dcc_fault fault)
{
	static const char *const word[] = {"", "not_sealed", "unreadable", "form", "signature", "content"};

	return word[fault];
}
