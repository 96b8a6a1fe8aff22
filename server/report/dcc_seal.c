/*
 * Sealing. The digests come from libxml2's canonical form and the signature from the key's one function; the finished
 * document is judged by other code (dcc_verify.c, with xmlsec), so that an error here would not go unseen.
 */
#include "dcc_seal.h"

#include <libxml/c14n.h>
#include <libxml/parser.h>
#include <openssl/ecdsa.h>
#include <openssl/evp.h>
#include <stdlib.h>
#include <string.h>
#include "base/time.h"
#include "dcc_tree.h"
#include "dcc_xml.h"

struct sealing {
	const struct dcc_signer *signer;
	xmlDocPtr doc;
	xmlNsPtr ds, xades;
	bool failed; /* memory was exhausted */
	bool unfit;  /* the document has no canonical form, as with a namespace that is no address */
};

static xmlNodePtr add(struct sealing *s, xmlNodePtr parent, xmlNsPtr ns, const char *name, const char *text)
{
	xmlNodePtr node = parent ? xmlNewTextChild(parent, ns, BAD_CAST name, BAD_CAST text) : NULL;

	if (!node)
		s->failed = true;
	return node;
}

static xmlNodePtr set(struct sealing *s, xmlNodePtr node, const char *name, const char *value)
{
	if (!node || !xmlNewProp(node, BAD_CAST name, BAD_CAST value))
		s->failed = true;
	return node;
}

static void algorithm(struct sealing *s, xmlNodePtr parent, const char *name, const char *uri)
{
	set(s, add(s, parent, s->ds, name, NULL), "Algorithm", uri);
}

static void base64(struct sealing *s, xmlNodePtr parent, const char *name, const unsigned char *bytes, size_t size)
{
	char *text = dcc_base64(bytes, size);

	if (text)
		add(s, parent, s->ds, name, text);
	else
		s->failed = true;
	free(text);
}

char *dcc_base64(const unsigned char *bytes, size_t size)
{
	char *text = malloc(4 * (size / 3 + 1) + 1);

	if (text)
		EVP_EncodeBlock((unsigned char *)text, bytes, (int)size);
	return text;
}

unsigned char *dcc_base64_read(const char *text, size_t *size)
{
	size_t length = strlen(text), padding = 0;
	unsigned char *bytes = length > 0 && length % 4 == 0 ? malloc(length) : NULL;
	char *again;
	bool same;

	if (!bytes)
		return NULL;
	while (padding < 2 && text[length - 1 - padding] == '=')
		padding++;
	if (EVP_DecodeBlock(bytes, (const unsigned char *)text, (int)length) != (int)(length / 4 * 3)) {
		free(bytes);
		return NULL;
	}
	*size = length / 4 * 3 - padding;
	/* other texts decode to the same bytes: white space, bits behind the last one */
	again = dcc_base64(bytes, *size);
	same = again && strcmp(again, text) == 0;
	free(again);
	if (same)
		return bytes;
	free(bytes);
	return NULL;
}

/* Whether the node, or the element a namespace is declared on, stands at or below the top. */
static int below(void *top, xmlNodePtr node, xmlNodePtr parent)
{
	for (xmlNodePtr n = node->type == XML_NAMESPACE_DECL ? parent : node; n; n = n->parent)
		if (n == (xmlNodePtr)top)
			return 1;
	return 0;
}

/* Exclusive canonical form without comments, of the whole document when top is NULL; the caller frees it with xmlFree. */
static xmlChar *canonical(struct sealing *s, xmlNodePtr top, size_t *size)
{
	xmlOutputBufferPtr out = xmlAllocOutputBuffer(NULL);
	xmlChar *bytes = NULL;

	*size = 0;
	if (out && xmlC14NExecute(s->doc, top ? below : NULL, top, XML_C14N_EXCLUSIVE_1_0, NULL, 0, out) >= 0) {
		*size = xmlOutputBufferGetSize(out);
		bytes = xmlStrndup(xmlOutputBufferGetContent(out), (int)*size);
	}
	if (out)
		xmlOutputBufferClose(out);
	if (!bytes)
		s->unfit = true;
	return bytes;
}

static void digest(struct sealing *s, xmlNodePtr top, unsigned char out[DIGEST_SIZE])
{
	size_t size;
	xmlChar *bytes = canonical(s, top, &size);

	memset(out, 0, DIGEST_SIZE);
	if (bytes && EVP_Digest(bytes, size, out, NULL, EVP_sha256(), NULL) != 1)
		s->failed = true;
	xmlFree(bytes);
}

static void digested(struct sealing *s, xmlNodePtr parent, const unsigned char value[DIGEST_SIZE])
{
	algorithm(s, parent, "DigestMethod", ALGORITHM_SHA256);
	base64(s, parent, "DigestValue", value, DIGEST_SIZE);
}

static xmlNodePtr reference(struct sealing *s, xmlNodePtr info, const char *attribute, const char *value,
			    const char *uri, bool enveloped, const unsigned char digest_value[DIGEST_SIZE])
{
	xmlNodePtr node = add(s, info, s->ds, "Reference", NULL), transforms;

	set(s, set(s, node, attribute, value), "URI", uri);
	transforms = add(s, node, s->ds, "Transforms", NULL);
	if (enveloped)
		algorithm(s, transforms, "Transform", ALGORITHM_ENVELOPED);
	algorithm(s, transforms, "Transform", ALGORITHM_C14N);
	digested(s, node, digest_value);
	return node;
}

/* A certificate by its digest: the signer's, and those of its chain, so that none can be added or exchanged. */
static void bind(struct sealing *s, xmlNodePtr list, X509 *x)
{
	unsigned char value[EVP_MAX_MD_SIZE] = {0};

	if (X509_digest(x, EVP_sha256(), value, NULL) != 1)
		s->failed = true;
	digested(s, add(s, add(s, list, s->xades, "Cert", NULL), s->xades, "CertDigest", NULL), value);
}

/* XAdES baseline B-B: the time, the certificates, and what kind of thing the document is. */
static xmlNodePtr properties(struct sealing *s, xmlNodePtr signature, int64_t at_ms)
{
	xmlNodePtr qualifying = add(s, add(s, signature, s->ds, "Object", NULL), NULL, "QualifyingProperties", NULL),
		   all, part;
	char when[WHEN_SIZE];

	s->xades = qualifying ? xmlNewNs(qualifying, BAD_CAST XADES_NAMESPACE, BAD_CAST "xades") : NULL;
	if (!s->xades) {
		s->failed = true;
		return NULL;
	}
	xmlSetNs(qualifying, s->xades);
	set(s, qualifying, "Target", "#" ID_SEAL);
	all = set(s, add(s, qualifying, s->xades, "SignedProperties", NULL), "Id", ID_SEAL_PROPERTIES);
	part = add(s, all, s->xades, "SignedSignatureProperties", NULL);
	add(s, part, s->xades, "SigningTime", dcc_time(at_ms, when));
	part = add(s, part, s->xades, "SigningCertificateV2", NULL);
	bind(s, part, s->signer->certificate);
	for (int i = 0; i < sk_X509_num(s->signer->chain); i++)
		bind(s, part, sk_X509_value(s->signer->chain, i));
	part = add(s, add(s, all, s->xades, "SignedDataObjectProperties", NULL), s->xades, "DataObjectFormat", NULL);
	set(s, part, "ObjectReference", "#" ID_SEAL_DOCUMENT);
	add(s, part, s->xades, "MimeType", MIME_TYPE);
	return all;
}

static void certificate(struct sealing *s, xmlNodePtr data, X509 *x)
{
	unsigned char *der = NULL;
	int size = i2d_X509(x, &der);

	if (size > 0)
		base64(s, data, "X509Certificate", der, (size_t)size);
	else
		s->failed = true;
	OPENSSL_free(der);
}

static void key_info(struct sealing *s, xmlNodePtr signature)
{
	xmlNodePtr data = add(s, add(s, signature, s->ds, "KeyInfo", NULL), s->ds, "X509Data", NULL);

	certificate(s, data, s->signer->certificate);
	for (int i = 0; i < sk_X509_num(s->signer->chain); i++)
		certificate(s, data, sk_X509_value(s->signer->chain, i));
}

/* XML signatures have r and s of an ECDSA signature at the key's full length, one after the other (RFC 6931, 2.3.6). */
static bool to_raw(const EVP_PKEY *key, unsigned char **signature, size_t *size)
{
	const unsigned char *at = *signature;
	ECDSA_SIG *pair = d2i_ECDSA_SIG(NULL, &at, (long)*size);
	int half = (EVP_PKEY_get_bits(key) + 7) / 8;
	unsigned char *raw = pair ? calloc(2, (size_t)half) : NULL;
	bool good = raw && BN_bn2binpad(ECDSA_SIG_get0_r(pair), raw, half) == half &&
		    BN_bn2binpad(ECDSA_SIG_get0_s(pair), raw + half, half) == half;

	ECDSA_SIG_free(pair);
	if (!good) {
		free(raw);
		return false;
	}
	free(*signature);
	*signature = raw;
	*size = 2 * (size_t)half;
	return true;
}

static enum status sign(struct sealing *s, xmlNodePtr info, xmlNodePtr value, bool ecdsa, struct err *err)
{
	size_t size, signature_size = 0;
	xmlChar *bytes = canonical(s, info, &size);
	unsigned char *signature = NULL;
	char *text = NULL;
	enum status rc = bytes ? s->signer->sign(s->signer->key, bytes, size, &signature, &signature_size, err) : OK;

	if (!rc && ecdsa && !to_raw(X509_get0_pubkey(s->signer->certificate), &signature, &signature_size))
		rc = err_set(err, FAILED, "", "the key gave no signature that can be read");
	if (!rc && bytes)
		text = dcc_base64(signature, signature_size);
	if (text)
		xmlNodeSetContent(value, BAD_CAST text);
	else
		s->failed = true;
	free(text);
	free(signature);
	xmlFree(bytes);
	return rc;
}

static enum status seal(struct sealing *s, int64_t at_ms, struct err *err)
{
	bool ecdsa = EVP_PKEY_get_base_id(X509_get0_pubkey(s->signer->certificate)) == EVP_PKEY_EC;
	unsigned char whole[DIGEST_SIZE], own[DIGEST_SIZE];
	xmlNodePtr root = xmlDocGetRootElement(s->doc), signature, info, value, signed_properties;

	digest(s, NULL, whole); /* before the signature stands in it, as the enveloped transform will see it */
	signature = xmlNewChild(root, NULL, BAD_CAST "Signature", NULL);
	s->ds = signature ? xmlNewNs(signature, BAD_CAST DS_NAMESPACE, BAD_CAST "ds") : NULL;
	if (!s->ds) {
		s->failed = true;
		return OK;
	}
	xmlSetNs(signature, s->ds);
	set(s, signature, "Id", ID_SEAL);
	info = add(s, signature, s->ds, "SignedInfo", NULL);
	value = add(s, signature, s->ds, "SignatureValue", NULL);
	key_info(s, signature);
	signed_properties = properties(s, signature, at_ms);
	if (s->failed || s->unfit)
		return OK;
	digest(s, signed_properties, own);
	algorithm(s, info, "CanonicalizationMethod", ALGORITHM_C14N);
	algorithm(s, info, "SignatureMethod", ecdsa ? ALGORITHM_ECDSA : ALGORITHM_RSA);
	reference(s, info, "Id", ID_SEAL_DOCUMENT, "", true, whole);
	reference(s, info, "Type", TYPE_PROPERTIES, "#" ID_SEAL_PROPERTIES, false, own);
	return s->failed ? OK : sign(s, info, value, ecdsa, err);
}

/* Comments are outside every signature of ours, so none may stay: the one that says "not sealed" goes as well. */
static void drop_comments(xmlNodePtr node)
{
	while (node) {
		xmlNodePtr next = node->next;

		if (node->type == XML_COMMENT_NODE) {
			xmlUnlinkNode(node);
			xmlFreeNode(node);
		} else if (node->type == XML_ELEMENT_NODE) {
			drop_comments(node->children);
		}
		node = next;
	}
}

static xmlNodePtr find(xmlNodePtr node, const char *name)
{
	for (; node; node = node->next) {
		xmlNodePtr found;

		if (node->type != XML_ELEMENT_NODE)
			continue;
		if (xmlStrEqual(node->name, BAD_CAST name))
			return node;
		found = find(node->children, name);
		if (found)
			return found;
	}
	return NULL;
}

static enum status prepare(xmlDocPtr doc, struct err *err)
{
	xmlNodePtr root = doc ? xmlDocGetRootElement(doc) : NULL, mark;

	if (!root || !xmlStrEqual(root->name, BAD_CAST "digitalCalibrationCertificate") || doc->intSubset)
		return err_set(err, INVALID, "", "this is no certificate that can be sealed");
	if (find(root->children, "Signature"))
		return err_set(err, CONFLICT, "", "the certificate is sealed already");
	mark = find(root->children, DCC_SEAL_MARK);
	if (!mark)
		return err_set(err, INVALID, "", "this is no certificate that can be sealed");
	xmlNodeSetContent(mark, BAD_CAST "true");
	drop_comments(doc->children);
	return OK;
}

/* No seal leaves that our own verifier would not call good: a key that is not the certificate's, a document not of ours. */
static enum status judge_own(const char *xml, size_t size, struct err *err)
{
	struct dcc_report *report = calloc(1, sizeof *report);
	enum status rc;

	if (!report)
		return err_set(err, NO_MEMORY, "", "not enough memory to seal the certificate");
	rc = dcc_unseal(xml, size, NULL, report, err);
	if (!rc && report->fault == DCC_FAULT_SIGNATURE)
		rc = err_set(err, FAILED, "", "the key does not belong to the seal certificate");
	else if (!rc && !(report->sound && report->as_written))
		rc = err_set(err, INVALID, "", "this is no certificate that can be sealed");
	free(report);
	return rc;
}

enum status dcc_seal(const struct dcc_signer *signer, const char *xml, size_t size, int64_t at_ms, char **out,
		     size_t *out_size, struct err *err)
{
	struct sealing s = {.signer = signer};
	enum status rc;

	*out = NULL;
	*out_size = 0;
	dcc_xml_begin();
	if (size <= DOCUMENT_SIZE_MAX)
		s.doc = xmlReadMemory(xml, (int)size, NULL, NULL,
				      XML_PARSE_NONET | XML_PARSE_NOERROR | XML_PARSE_NOWARNING);
	rc = prepare(s.doc, err);
	if (!rc)
		rc = seal(&s, at_ms, err);
	if (!rc && s.unfit)
		rc = err_set(err, INVALID, "", "this is no certificate that can be sealed");
	if (!rc && s.failed)
		rc = err_set(err, NO_MEMORY, "", "not enough memory to seal the certificate");
	if (!rc)
		rc = dcc_xml_bytes(s.doc, false, out, out_size, err);
	if (!rc)
		rc = judge_own(*out, *out_size, err);
	if (rc) {
		free(*out);
		*out = NULL;
		*out_size = 0;
	}
	xmlFreeDoc(s.doc);
	return rc;
}
