package org.tidemark.application;

import java.util.OptionalLong;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.EntityTags;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;

/** The entries that transactions and batches answer with, and the reads inside them. */
final class Entries {
  private Entries() {}

  /** What a write answers; the record itself where the caller may read it. */
  static BundleEntryComponent written(Written written, Records records) {
    Resource resource = written.resource();
    String id = resource.fhirType() + "/" + resource.getIdPart();
    String version = resource.getMeta().getVersionId();
    BundleEntryComponent entry = new BundleEntryComponent();
    entry.setFullUrl(records.references().base() + id);
    if (records.shows(resource)) {
      entry.setResource(resource);
    }
    entry
        .getResponse()
        .setStatus(written.created() ? "201 Created" : "200 OK")
        .setLocation(id + "/_history/" + version)
        .setEtag(EntityTags.of(version))
        .setLastModified(resource.getMeta().getLastUpdated());
    return entry;
  }

  /** What a deletion answers. */
  static BundleEntryComponent deleted() {
    BundleEntryComponent entry = new BundleEntryComponent();
    entry.getResponse().setStatus("204 No Content");
    return entry;
  }

  /** Carries out a GET inside a Bundle. */
  static BundleEntryComponent read(Records records, EntryUrl url) {
    BundleEntryComponent entry = new BundleEntryComponent();
    if (url.id().isEmpty()) {
      Page page = records.search(url.type(), url.query(), Handling.STRICT);
      entry.setResource(searchSet(page, records.references())).getResponse().setStatus("200 OK");
      return entry;
    }
    Resource resource =
        records
            .read(
                url.type(),
                url.id(),
                url.version().isEmpty() ? OptionalLong.empty() : OptionalLong.of(version(url)))
            .orElseThrow(() -> records.absent(Address.of(url.type(), url.id())));
    entry
        .setFullUrl(records.references().base() + url.type() + "/" + url.id())
        .setResource(resource)
        .getResponse()
        .setStatus("200 OK")
        .setEtag(EntityTags.of(resource.getMeta().getVersionId()))
        .setLastModified(resource.getMeta().getLastUpdated());
    return entry;
  }

  private static long version(EntryUrl url) {
    return EntityTags.version(url.version())
        .orElseThrow(() -> Problem.of(Problem.Kind.NOT_FOUND, "There is no such version."));
  }

  /** A page as a Bundle, without links. */
  static Bundle searchSet(Page page, References references) {
    Bundle bundle = new Bundle().setType(Bundle.BundleType.SEARCHSET);
    page.total().ifPresent(total -> bundle.setTotal((int) Math.min(total, Integer.MAX_VALUE)));
    for (Page.Entry entry : page.entries()) {
      bundle
          .addEntry()
          .setFullUrl(references.base() + entry.type() + "/" + entry.id())
          .setResource(entry.resource())
          .getSearch()
          .setMode(entry.match() ? Bundle.SearchEntryMode.MATCH : Bundle.SearchEntryMode.INCLUDE);
    }
    return bundle;
  }
}
