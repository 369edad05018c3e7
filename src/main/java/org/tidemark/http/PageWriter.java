package org.tidemark.http;

import ca.uhn.fhir.context.FhirContext;
import com.fasterxml.jackson.core.JsonFactory;
import com.fasterxml.jackson.core.JsonGenerator;
import java.io.IOException;
import java.io.Writer;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.hl7.fhir.r4.model.Bundle.BundleLinkComponent;
import org.tidemark.application.Page;
import org.tidemark.fhir.References;

/** Writes a page of a search as JSON around the stored text of its records. */
final class PageWriter {
  private static final JsonFactory JSON =
      new JsonFactory().disable(JsonGenerator.Feature.AUTO_CLOSE_TARGET);

  private final FhirContext context;
  private final References references;

  PageWriter(FhirContext context, References references) {
    this.context = context;
    this.references = references;
  }

  /**
   * Writes a page.
   *
   * @param around id, time, type, total, links and the entries that are no records
   * @param page the records
   * @param to receives the text; stays open
   */
  void write(Bundle around, Page page, Writer to) throws IOException {
    try (JsonGenerator json = JSON.createGenerator(to)) {
      json.writeStartObject();
      json.writeStringField("resourceType", "Bundle");
      json.writeStringField("id", around.getIdElement().getIdPart());
      json.writeObjectFieldStart("meta");
      json.writeStringField(
          "lastUpdated", around.getMeta().getLastUpdatedElement().getValueAsString());
      json.writeEndObject();
      json.writeStringField("type", around.getType().toCode());
      if (around.hasTotal()) {
        json.writeNumberField("total", around.getTotal());
      }
      json.writeArrayFieldStart("link");
      for (BundleLinkComponent link : around.getLink()) {
        json.writeStartObject();
        json.writeStringField("relation", link.getRelation());
        json.writeStringField("url", link.getUrl());
        json.writeEndObject();
      }
      json.writeEndArray();
      writeEntries(around, page, json);
      json.writeEndObject();
    }
  }

  private void writeEntries(Bundle around, Page page, JsonGenerator json) throws IOException {
    if (page.entries().isEmpty() && !around.hasEntry()) {
      return;
    }
    json.writeArrayFieldStart("entry");
    for (Page.Entry entry : page.entries()) {
      String url = references.base() + entry.type() + "/" + entry.id();
      writeEntry(json, url, entry.json(), SearchBundles.mode(entry));
    }
    for (BundleEntryComponent other : around.getEntry()) {
      String text = context.newJsonParser().encodeResourceToString(other.getResource());
      writeEntry(json, other.getFullUrl(), text, other.getSearch().getMode());
    }
    json.writeEndArray();
  }

  private static void writeEntry(
      JsonGenerator json, String url, String text, Bundle.SearchEntryMode mode) throws IOException {
    json.writeStartObject();
    json.writeStringField("fullUrl", url);
    json.writeFieldName("resource");
    json.writeRawValue(text);
    json.writeObjectFieldStart("search");
    json.writeStringField("mode", mode.toCode());
    json.writeEndObject();
    json.writeEndObject();
  }
}
