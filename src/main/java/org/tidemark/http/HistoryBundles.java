package org.tidemark.http;

import ca.uhn.fhir.rest.api.server.RequestDetails;
import java.util.Date;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.UUID;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.tidemark.application.Histories;
import org.tidemark.application.Past;
import org.tidemark.fhir.EntityTags;
import org.tidemark.fhir.References;

/** Histories as Bundles, the newest version first. */
final class HistoryBundles {
  /** Parameters that concern the form of the answer; HAPI obeys them. */
  private static final Set<String> FORM = Set.of("_format", "_pretty", "_elements", "_summary");

  private final Histories histories;
  private final References references;

  HistoryBundles(Histories histories, References references) {
    this.histories = histories;
    this.references = references;
  }

  /**
   * A page of a history.
   *
   * @param type only of this type
   * @param id only of this record
   * @param request its parameters say which versions
   * @return a Bundle of the type {@code history}
   */
  Bundle read(Optional<String> type, Optional<String> id, RequestDetails request) {
    Map<String, List<String>> given = QueryText.given(request);
    Map<String, List<String>> asked = new LinkedHashMap<>(given);
    asked.keySet().removeAll(FORM);
    Past page = histories.read(type, id, asked);
    Bundle bundle = new Bundle().setType(Bundle.BundleType.HISTORY);
    bundle.setId(UUID.randomUUID().toString());
    String path =
        references.base()
            + type.map(name -> name + "/").orElse("")
            + id.map(name -> name + "/").orElse("")
            + "_history";
    bundle.addLink().setRelation("self").setUrl(QueryText.url(path, given));
    page.next()
        .ifPresent(
            next -> {
              given.put("_cursor", List.of(next));
              bundle.addLink().setRelation("next").setUrl(QueryText.url(path, given));
            });
    page.versions().forEach(version -> bundle.addEntry(entry(version)));
    return bundle;
  }

  private BundleEntryComponent entry(Past.Version version) {
    String name = version.type() + "/" + version.id();
    BundleEntryComponent entry = new BundleEntryComponent();
    entry.setFullUrl(references.base() + name);
    entry
        .getResponse()
        .setEtag(EntityTags.of(Long.toString(version.number())))
        .setLastModified(Date.from(version.written()));
    version.resource().ifPresent(entry::setResource);
    if (version.resource().isEmpty()) {
      entry.getRequest().setMethod(Bundle.HTTPVerb.DELETE).setUrl(name);
      entry.getResponse().setStatus("204 No Content");
    } else if (version.number() == 1) {
      entry.getRequest().setMethod(Bundle.HTTPVerb.POST).setUrl(version.type());
      entry.getResponse().setStatus("201 Created");
    } else {
      entry.getRequest().setMethod(Bundle.HTTPVerb.PUT).setUrl(name);
      entry.getResponse().setStatus("200 OK");
    }
    return entry;
  }
}
