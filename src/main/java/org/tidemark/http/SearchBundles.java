package org.tidemark.http;

import ca.uhn.fhir.rest.api.server.RequestDetails;
import java.util.ArrayList;
import java.util.Date;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.UUID;
import java.util.regex.Pattern;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.tidemark.application.Handling;
import org.tidemark.application.Page;
import org.tidemark.application.Records;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;

/** Pages of a search as Bundles. */
final class SearchBundles {
  /** Parameters that concern the form of the answer; HAPI obeys them. */
  static final Set<String> FORM = Set.of("_format", "_pretty", "_elements");

  /** The summaries that concern the form of the answer, likewise. */
  private static final Set<String> SHORTENED = Set.of("true", "text", "data");

  private static final Pattern LENIENT =
      Pattern.compile("(?:.*[,;\\s])?handling\\s*=\\s*\"?lenient.*", Pattern.CASE_INSENSITIVE);

  private final Records records;
  private final References references;

  SearchBundles(Records records, References references) {
    this.records = records;
    this.references = references;
  }

  /**
   * A page of a search.
   *
   * @param type the type searched
   * @param request its parameters say which records
   * @return a Bundle of the type {@code searchset}; without the records where {@link SearchAnswers}
   *     writes their stored text
   */
  Bundle read(String type, RequestDetails request) {
    Page page = records.search(type, asked(request), handling(request));
    Map<String, List<String>> obeyed = QueryText.given(request);
    page.ignored().forEach(ignored -> obeyed.get(ignored.parameter()).remove(ignored.value()));
    Bundle bundle = bundle(page, references.base() + type, obeyed, request);
    if (!page.ignored().isEmpty()) {
      warn(bundle, Problem.all(page.ignored().stream().map(Page.Ignored::why).toList()));
    }
    return bundle;
  }

  /**
   * A page as a Bundle.
   *
   * @param page the page
   * @param path the address without its parameters
   * @param given the parameters that were obeyed; a map that may be changed
   * @param request what is answered
   */
  Bundle bundle(Page page, String path, Map<String, List<String>> given, RequestDetails request) {
    Bundle bundle = new Bundle().setType(Bundle.BundleType.SEARCHSET);
    bundle.setId(UUID.randomUUID().toString());
    bundle.getMeta().setLastUpdated(new Date());
    page.total().ifPresent(total -> bundle.setTotal((int) Math.min(total, Integer.MAX_VALUE)));
    SearchAnswers.remember(request, page);
    bundle.addLink().setRelation("self").setUrl(QueryText.url(path, given));
    page.next()
        .ifPresent(
            next -> {
              given.put("_cursor", List.of(next));
              bundle.addLink().setRelation("next").setUrl(QueryText.url(path, given));
            });
    if (!SearchAnswers.isPlain(request)) {
      page.entries().forEach(entry -> add(bundle, entry));
    }
    return bundle;
  }

  private void add(Bundle bundle, Page.Entry entry) {
    bundle
        .addEntry()
        .setFullUrl(references.base() + entry.type() + "/" + entry.id())
        .setResource(entry.resource())
        .getSearch()
        .setMode(mode(entry));
  }

  static Bundle.SearchEntryMode mode(Page.Entry entry) {
    return entry.match() ? Bundle.SearchEntryMode.MATCH : Bundle.SearchEntryMode.INCLUDE;
  }

  /** Whether only a part of each record is asked for. */
  static boolean isShortened(RequestDetails request) {
    Map<String, List<String>> given = QueryText.given(request);
    return given.containsKey("_elements")
        || given.getOrDefault("_summary", List.of()).stream().anyMatch(SHORTENED::contains);
  }

  private static void warn(Bundle bundle, Problem ignored) {
    String id = UUID.randomUUID().toString();
    OperationOutcome warning = Outcomes.warning(ignored);
    warning.setId(id);
    bundle
        .addEntry()
        .setFullUrl("urn:uuid:" + id)
        .setResource(warning)
        .getSearch()
        .setMode(Bundle.SearchEntryMode.OUTCOME);
  }

  private static Handling handling(RequestDetails request) {
    boolean lenient =
        request.getHeaders("Prefer").stream().anyMatch(line -> LENIENT.matcher(line).matches());
    return lenient ? Handling.LENIENT : Handling.STRICT;
  }

  /** What concerns the search itself. */
  private static Map<String, List<String>> asked(RequestDetails request) {
    Map<String, List<String>> asked = QueryText.given(request);
    asked.keySet().removeAll(FORM);
    asked.getOrDefault("_summary", new ArrayList<>()).removeAll(SHORTENED);
    return asked;
  }
}
