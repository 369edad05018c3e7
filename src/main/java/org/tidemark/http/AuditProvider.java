package org.tidemark.http;

import ca.uhn.fhir.rest.annotation.IdParam;
import ca.uhn.fhir.rest.annotation.Read;
import ca.uhn.fhir.rest.annotation.Search;
import ca.uhn.fhir.rest.api.server.RequestDetails;
import ca.uhn.fhir.rest.server.IResourceProvider;
import java.util.Date;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.UUID;
import org.hl7.fhir.r4.model.AuditEvent;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.IdType;
import org.tidemark.application.AuditReading;
import org.tidemark.application.Types;
import org.tidemark.fhir.References;

/** Reads and searches the audit trail, which nobody writes. */
public final class AuditProvider implements IResourceProvider {
  private static final Set<String> FORM = Set.of("_format", "_pretty", "_elements", "_summary");

  private final AuditReading reading;
  private final References references;

  AuditProvider(AuditReading reading, References references) {
    this.reading = reading;
    this.references = references;
  }

  @Override
  public Class<AuditEvent> getResourceType() {
    return AuditEvent.class;
  }

  /** Reads an event. */
  @Read
  public AuditEvent read(@IdParam IdType id) {
    return reading.read(id.getIdPart());
  }

  /** Searches events; parameters that are not offered are refused. */
  @Search(allowUnknownParams = true)
  public Bundle search(RequestDetails request) {
    Map<String, List<String>> given = QueryText.given(request);
    Map<String, List<String>> asked = new LinkedHashMap<>(given);
    asked.keySet().removeAll(FORM);
    AuditReading.Found found = reading.search(asked);
    Bundle bundle = new Bundle().setType(Bundle.BundleType.SEARCHSET);
    bundle.setId(UUID.randomUUID().toString());
    bundle.getMeta().setLastUpdated(new Date());
    String path = references.base() + Types.AUDIT;
    bundle.addLink().setRelation("self").setUrl(QueryText.url(path, given));
    found
        .next()
        .ifPresent(
            next -> {
              given.put("_cursor", List.of(next));
              bundle.addLink().setRelation("next").setUrl(QueryText.url(path, given));
            });
    for (AuditEvent event : found.events()) {
      bundle
          .addEntry()
          .setFullUrl(path + "/" + event.getIdElement().getIdPart())
          .setResource(event)
          .getSearch()
          .setMode(Bundle.SearchEntryMode.MATCH);
    }
    return bundle;
  }
}
