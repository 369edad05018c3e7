package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.parser.DataFormatException;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.List;
import java.util.Objects;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.SearchParameters;
import org.tidemark.store.CheckStore;
import org.tidemark.store.PastVersion;
import org.tidemark.store.SearchValues;
import org.tidemark.store.Stored;

/** Holds what is kept of a record against its text. */
@ApplicationScoped
class StoredRecordCheck {
  private final CheckStore store;
  private final FhirContext context;
  private final SearchParameters parameters;

  StoredRecordCheck(CheckStore store, FhirContext context, SearchParameters parameters) {
    this.store = store;
    this.context = context;
    this.parameters = parameters;
  }

  /** What is wrong with a record, its history included; joins the caller's transaction. */
  List<Finding> of(CheckStore.Key key) {
    List<Finding> found = new ArrayList<>();
    Optional<CheckStore.Indexed> current = store.indexed(key);
    List<PastVersion> past = store.past(key);
    if (!areConsecutive(past, current)) {
      found.add(new Finding(Finding.Kind.VERSIONS, key.toString()));
    }
    for (PastVersion version : past) {
      if (!version.deleted() && read(version.stored()).isEmpty()) {
        found.add(unreadable(version.stored()));
      }
    }
    current.ifPresent(row -> found.addAll(ofCurrent(key, row)));
    return found;
  }

  /** From 1 on; where the record is there no more, the last is its deletion. */
  private static boolean areConsecutive(
      List<PastVersion> past, Optional<CheckStore.Indexed> current) {
    long expected = 1;
    for (PastVersion version : past) {
      if (version.stored().version() != expected++) {
        return false;
      }
    }
    return current
        .map(row -> row.stored().version())
        .map(Long.valueOf(expected)::equals)
        .orElseGet(() -> past.isEmpty() || past.get(past.size() - 1).deleted());
  }

  private static Finding unreadable(Stored version) {
    return new Finding(
        Finding.Kind.UNREADABLE,
        "%s/%s/_history/%d".formatted(version.type(), version.id(), version.version()));
  }

  private List<Finding> ofCurrent(CheckStore.Key key, CheckStore.Indexed row) {
    Stored stored = row.stored();
    Optional<Resource> read = read(stored);
    if (read.isEmpty()) {
      return List.of(unreadable(stored));
    }
    List<Finding> found = new ArrayList<>();
    IndexedRecord indexed = IndexedRecord.of(read.get(), parameters);
    SearchValues said = indexed.values(parameters, stored.lastUpdated().toEpochMilli());
    SearchValues kept = row.values();
    boolean sameRow =
        Objects.equals(indexed.subject(), stored.subject())
            && said.happenedMs() == kept.happenedMs()
            && read.get().getMeta().getLastUpdated().toInstant().equals(stored.lastUpdated());
    if (!sameRow) {
      found.add(new Finding(Finding.Kind.CURRENT_ROW, key.toString()));
    }
    boolean sameValues =
        said.tokens().equals(kept.tokens())
            && said.uris().equals(kept.uris())
            && said.dates().equals(kept.dates())
            && said.measures().equals(kept.measures());
    if (!sameValues) {
      found.add(new Finding(Finding.Kind.SEARCH_ROWS, key.toString()));
    }
    if (!claims(said).containsAll(store.claims(key))) {
      found.add(new Finding(Finding.Kind.IDENTIFIER, key.toString()));
    }
    return found;
  }

  private static Set<List<String>> claims(SearchValues said) {
    return said.tokens().stream()
        .filter(token -> token.parameter().equals("identifier"))
        .map(token -> List.of(token.system(), token.code()))
        .collect(java.util.stream.Collectors.toSet());
  }

  /** The resource, if its text is that of this version of this record. */
  private Optional<Resource> read(Stored stored) {
    try {
      Resource read = (Resource) context.newJsonParser().parseResource(stored.json());
      boolean itself =
          read.fhirType().equals(stored.type())
              && stored.id().equals(read.getIdElement().getIdPart())
              && Long.toString(stored.version()).equals(read.getMeta().getVersionId())
              && read.getMeta().hasLastUpdated();
      read.setId(stored.type() + "/" + stored.id() + "/_history/" + stored.version());
      return itself ? Optional.of(read) : Optional.empty();
    } catch (DataFormatException | ClassCastException | IllegalArgumentException notReadable) {
      return Optional.empty();
    }
  }
}
