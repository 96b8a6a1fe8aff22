/*
 * The one form a sealed document has. An XML signature covers what its references say and nothing else, so a document may
 * carry a good signature over something else than what a reader takes for its content. Everything a signature could leave
 * open is therefore fixed here, before any of it is computed: one signature, last in the root, two references in their
 * order, over the whole document and over the properties inside this very signature.
 */
#include <libxml/tree.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include "dcc_seal.h"
#include "dcc_tree.h"

/* Each element inside the signature: its members in their order, and its attributes with their values. "*": any value. */
static const struct {
	const char *path, *members;
	struct {
		const char *name, *value;
	} attribute[3];
} rules[] = {
	{"Signature", "SignedInfo SignatureValue KeyInfo Object", {{"Id", ID_SEAL}}},
	{"Signature/SignedInfo", "CanonicalizationMethod SignatureMethod Reference Reference", {{NULL, NULL}}},
	{"SignedInfo/CanonicalizationMethod", "", {{"Algorithm", ALGORITHM_C14N}}},
	{"SignedInfo/SignatureMethod", "", {{"Algorithm", "*"}}},
	{"Signature/KeyInfo", "X509Data", {{NULL, NULL}}},
	{"Signature/Object", "QualifyingProperties", {{NULL, NULL}}},
	{"Object/QualifyingProperties", "SignedProperties", {{"Target", "#" ID_SEAL}}},
	{"QualifyingProperties/SignedProperties",
	 "SignedSignatureProperties SignedDataObjectProperties",
	 {{"Id", ID_SEAL_PROPERTIES}}},
	{"SignedProperties/SignedSignatureProperties", "SigningTime SigningCertificateV2", {{NULL, NULL}}},
	{"SigningCertificateV2/Cert", "CertDigest", {{NULL, NULL}}},
	{"Cert/CertDigest", "DigestMethod DigestValue", {{NULL, NULL}}},
	{"SignedProperties/SignedDataObjectProperties", "DataObjectFormat", {{NULL, NULL}}},
	{"SignedDataObjectProperties/DataObjectFormat", "MimeType", {{"ObjectReference", "#" ID_SEAL_DOCUMENT}}},
	{"/DigestMethod", "", {{"Algorithm", ALGORITHM_SHA256}}},
};

static bool in_namespace(xmlNodePtr node, const char *href)
{
	return node->ns && xmlStrEqual(node->ns->href, BAD_CAST href);
}

static bool is(xmlNodePtr node, const char *name)
{
	return node && node->type == XML_ELEMENT_NODE && xmlStrEqual(node->name, BAD_CAST name);
}

/* Exactly these attributes with these values, none of them in a namespace. */
static bool attributes_are(xmlNodePtr node, const char *const (*wanted)[2], size_t n)
{
	size_t found = 0;

	for (xmlAttrPtr a = node->properties; a; a = a->next) {
		xmlChar *value = xmlNodeGetContent((xmlNodePtr)a);
		bool good = false;

		for (size_t i = 0; i < n; i++)
			good = good || (!a->ns && xmlStrEqual(a->name, BAD_CAST wanted[i][0]) &&
					(strcmp(wanted[i][1], "*") == 0 || xmlStrEqual(value, BAD_CAST wanted[i][1])));
		xmlFree(value);
		if (!good)
			return false;
		found++;
	}
	return found == n;
}

/* The n-th member, counted from 0; NULL. There is no text between members. */
static xmlNodePtr member(xmlNodePtr node, size_t n)
{
	xmlNodePtr at = node ? node->children : NULL;

	while (at && n-- > 0)
		at = at->next;
	return at && at->type == XML_ELEMENT_NODE ? at : NULL;
}

static bool members_are(xmlNodePtr node, const char *names)
{
	xmlNodePtr at = node->children;

	for (; *names; at = at->next) {
		size_t length = strcspn(names, " ");
		const char *href;

		if (!at || at->type != XML_ELEMENT_NODE || strlen((const char *)at->name) != length ||
		    strncmp((const char *)at->name, names, length) != 0)
			return false;
		/* what XAdES defines stands in its namespace, all else in that of XML signatures */
		href = strncmp(names, "Digest", 6) == 0 || in_namespace(node, DS_NAMESPACE) ? DS_NAMESPACE :
											      XADES_NAMESPACE;
		if (strncmp(names, "QualifyingProperties", length) == 0)
			href = XADES_NAMESPACE;
		if (!in_namespace(at, href))
			return false;
		names += length;
		names += *names == ' ';
	}
	return !at;
}

static bool fits(xmlNodePtr node, const char *path)
{
	const char *slash = strchr(path, '/');

	if (!slash)
		return is(node, path);
	if (!is(node, slash + 1))
		return false;
	return slash == path || (strlen((const char *)node->parent->name) == (size_t)(slash - path) &&
				 strncmp((const char *)node->parent->name, path, (size_t)(slash - path)) == 0);
}

/* Every element below that has a rule keeps it; one without a rule is looked at by its own reader. */
static bool ruled(xmlNodePtr node)
{
	for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
		const char *wanted[3][2];
		size_t n = 0;

		if (!fits(node, rules[i].path))
			continue;
		for (; n < 3 && rules[i].attribute[n].name; n++) {
			wanted[n][0] = rules[i].attribute[n].name;
			wanted[n][1] = rules[i].attribute[n].value;
		}
		if (!members_are(node, rules[i].members) || !attributes_are(node, wanted, n))
			return false;
	}
	for (xmlNodePtr at = node->children; at; at = at->next)
		if (at->type == XML_ELEMENT_NODE && !ruled(at))
			return false;
	return true;
}

/* A text alone, without attributes (or with those that a rule checks). */
static xmlChar *text_of(xmlNodePtr node)
{
	return node && node->children && !node->children->next && node->children->type == XML_TEXT_NODE &&
			       !node->properties ?
		       xmlNodeGetContent(node) :
		       NULL;
}

static unsigned char *bytes_of(xmlNodePtr node, size_t *size)
{
	xmlChar *text = text_of(node);
	unsigned char *bytes = text ? dcc_base64_read((const char *)text, size) : NULL;

	xmlFree(text);
	return bytes;
}

static bool is_digest(xmlNodePtr node, unsigned char *out)
{
	size_t size = 0;
	unsigned char *bytes = bytes_of(node, &size);
	bool good = bytes && size == DIGEST_SIZE;

	if (good && out)
		memcpy(out, bytes, DIGEST_SIZE);
	free(bytes);
	return good;
}

static bool transform_is(xmlNodePtr node, const char *algorithm)
{
	const char *const wanted[1][2] = {{"Algorithm", algorithm}};

	return is(node, "Transform") && !node->children && attributes_are(node, wanted, 1);
}

static bool reference_is(xmlNodePtr node, const char *attribute, const char *value, const char *uri, bool enveloped)
{
	const char *const wanted[2][2] = {{attribute, value}, {"URI", uri}};
	xmlNodePtr transforms = member(node, 0);

	return is(node, "Reference") && attributes_are(node, wanted, 2) &&
	       members_are(node, "Transforms DigestMethod DigestValue") && !transforms->properties &&
	       members_are(transforms, enveloped ? "Transform Transform" : "Transform") &&
	       (!enveloped || transform_is(member(transforms, 0), ALGORITHM_ENVELOPED)) &&
	       transform_is(member(transforms, enveloped), ALGORITHM_C14N) && is_digest(member(node, 2), NULL);
}

static bool read_certificates(xmlNodePtr data, struct dcc_form *form)
{
	int n = 0;

	form->chain = sk_X509_new_null();
	if (!form->chain || data->properties)
		return false;
	for (xmlNodePtr at = data->children; at; at = at->next) {
		size_t size = 0;
		unsigned char *der = is(at, "X509Certificate") && in_namespace(at, DS_NAMESPACE) ? bytes_of(at, &size) :
												   NULL;
		const unsigned char *end = der;
		X509 *x = der && n++ < SEAL_CERTIFICATES_MAX ? d2i_X509(NULL, &end, (long)size) : NULL;
		bool whole = x && end == der + size;

		free(der);
		if (!whole || (form->certificate && !sk_X509_push(form->chain, x))) {
			X509_free(x);
			return false;
		}
		if (!form->certificate)
			form->certificate = x;
	}
	return form->certificate != NULL;
}

/* The digests of the certificates, as many as there are certificates. */
static bool read_digests(xmlNodePtr list, struct dcc_form *form)
{
	if (!is(list, "SigningCertificateV2") || list->properties)
		return false;
	for (xmlNodePtr at = list->children; at; at = at->next)
		if (form->n_digests == SEAL_CERTIFICATES_MAX || !is(at, "Cert") || !in_namespace(at, XADES_NAMESPACE) ||
		    !members_are(at, "CertDigest") ||
		    !is_digest(member(member(at, 0), 1), form->digest[form->n_digests++]))
			return false;
	return form->n_digests == 1 + (size_t)sk_X509_num(form->chain);
}

static bool read_signature(struct dcc_form *form)
{
	xmlNodePtr signature = form->signature, info = member(signature, 0), key = member(signature, 2), part;
	unsigned char *value;
	size_t size = 0;

	if (!ruled(signature))
		return false;
	part = member(info, 1)->properties->children;
	form->method = part && part->type == XML_TEXT_NODE ? (const char *)part->content : "";
	if (strcmp(form->method, ALGORITHM_RSA) != 0 && strcmp(form->method, ALGORITHM_ECDSA) != 0)
		return false;
	if (!reference_is(member(info, 2), "Id", ID_SEAL_DOCUMENT, "", true) ||
	    !reference_is(member(info, 3), "Type", TYPE_PROPERTIES, "#" ID_SEAL_PROPERTIES, false))
		return false;
	value = bytes_of(member(signature, 1), &size);
	free(value);
	form->properties = member(member(member(signature, 3), 0), 0);
	part = member(form->properties, 0);
	form->time = (char *)text_of(member(part, 0));
	return value && form->time && read_certificates(member(key, 0), form) && read_digests(member(part, 1), form);
}

/*
 * Elements, attributes and plain text only. A comment is outside the signature, and may split a value in two for a careless
 * reader; nobody needs a processing instruction, a CDATA section or an entity here. Counts the signatures.
 */
static bool plain(xmlNodePtr node, int *signatures)
{
	for (; node; node = node->next) {
		if (node->type == XML_TEXT_NODE)
			continue;
		if (node->type != XML_ELEMENT_NODE)
			return false;
		if (is(node, "Signature"))
			(*signatures)++;
		if (!plain(node->children, signatures))
			return false;
	}
	return true;
}

/* How often an identifier is given in the tree, whatever the case of the attribute's name. */
static int given(xmlNodePtr node, const xmlChar *id)
{
	int n = 0;

	for (; node; node = node->next) {
		if (node->type != XML_ELEMENT_NODE)
			continue;
		for (xmlAttrPtr a = node->properties; a; a = a->next) {
			xmlChar *value = xmlStrcasecmp(a->name, BAD_CAST "id") == 0 ? xmlNodeGetContent((xmlNodePtr)a) :
										      NULL;

			n += value && xmlStrEqual(value, id);
			xmlFree(value);
		}
		n += given(node->children, id);
	}
	return n;
}

bool dcc_form_read(xmlDocPtr doc, struct dcc_form *form, char sentence[320])
{
	static const char *const ids[] = {ID_SEAL, ID_SEAL_DOCUMENT, ID_SEAL_PROPERTIES};
	xmlNodePtr root = xmlDocGetRootElement(doc);
	const char *fault = NULL;
	int signatures = 0;

	*form = (struct dcc_form){0};
	if (!plain(doc->children, &signatures))
		fault = "it holds a comment or another part that no signature covers";
	else if (signatures != 1)
		fault = "it holds more than one signature";
	else if (!is(root->last, "Signature") || !in_namespace(root->last, DS_NAMESPACE))
		fault = "the signature does not stand at its end";
	for (size_t i = 0; !fault && i < sizeof ids / sizeof ids[0]; i++)
		if (given(root, BAD_CAST ids[i]) != 1)
			fault = "a part of the signature is there twice";
	if (!fault) {
		form->signature = root->last;
		if (!read_signature(form))
			fault = "the signature covers something else than the whole certificate";
	}
	if (fault)
		snprintf(sentence, 320, "This is not the form of a seal made here: %s.", fault);
	return !fault;
}

void dcc_form_clear(struct dcc_form *form)
{
	xmlFree(form->time);
	X509_free(form->certificate);
	sk_X509_pop_free(form->chain, X509_free);
	*form = (struct dcc_form){0};
}
