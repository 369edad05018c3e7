package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.time.Clock;
import java.time.Duration;
import java.time.Instant;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.Set;
import java.util.TreeSet;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hl7.fhir.r4.model.Group;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.Reference;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.fhir.TimeSpan;
import org.tidemark.store.ExportStore;
import org.tidemark.store.ExportStore.File;
import org.tidemark.store.ExportStore.Job;
import org.tidemark.store.ExportStore.Line;
import org.tidemark.store.ExportStore.Snapshot;
import org.tidemark.store.ExportStore.Whose;
import org.tidemark.store.Query;
import org.tidemark.store.ResourceStore;

/**
 * Exports of many records at once (FHIR Bulk Data Access 2.0). An export is what was asked for and
 * a moment; its files are ranges of ids. No file is kept: whoever fetches one is sent the stored
 * text of the records as they stood at that moment, page by page, by whichever process.
 */
@ApplicationScoped
public class Exports {
  /**
   * What is exported.
   *
   * @param people whether only what is about people, and what helps to read it
   * @param group the id of the Group whose members these are; empty for everyone
   */
  public record Extent(boolean people, String group) {
    /** Everything. */
    public static final Extent EVERYTHING = new Extent(false, "");

    /** What is about people, and what helps to read it. */
    public static final Extent PEOPLE = new Extent(true, "");

    /** What is about the members of a Group, and what helps to read it. */
    public static Extent ofGroup(String id) {
      return new Extent(true, id);
    }

    private Stream<String> offered() {
      return Types.served()
          .filter(type -> !LEFT_OUT.contains(type))
          .filter(type -> !people || !Types.PUBLISHED.contains(type))
          .filter(type -> group.isEmpty() || !type.equals(GROUP));
    }
  }

  /** Names its members, and other Groups people who are none. */
  private static final String GROUP = "Group";

  /** The formats that name newline-delimited JSON. */
  private static final Set<String> FORMATS =
      Set.of("application/fhir+ndjson", "application/ndjson", "ndjson");

  /**
   * Papers are exported as the DocumentReferences that lead to them, as the standard asks;
   * Subscriptions hold the secrets of their endpoints.
   */
  private static final Set<String> LEFT_OUT = Set.of("Binary", "Subscription");

  /** Parameters of a search that concern records; the others concern its answer. */
  private static final Set<String> OF_RECORDS = Set.of("_id", "_lastUpdated");

  /** Read in a transaction at once. */
  private static final int PAGE = 500;

  private final ExportStore store;
  private final ResourceStore resources;
  private final Records records;
  private final Searching searching;
  private final Guard guard;
  private final Compartment compartment;
  private final References references;
  private final Clock clock;
  private final Duration keep;

  Exports(
      ExportStore store,
      ResourceStore resources,
      Records records,
      Searching searching,
      Guard guard,
      Compartment compartment,
      References references,
      Clock clock,
      @ConfigProperty(name = "tidemark.export.keep") Duration keep) {
    this.store = store;
    this.resources = resources;
    this.records = records;
    this.searching = searching;
    this.guard = guard;
    this.compartment = compartment;
    this.references = references;
    this.clock = clock;
    this.keep = keep;
  }

  // ---- asking ----

  /**
   * Begins an export of what the caller may read and search without restriction.
   *
   * @param extent what is exported
   * @param given the parameters {@code _outputFormat}, {@code _since}, {@code _type} and {@code
   *     _typeFilter}
   * @param request the address by which it is asked for
   * @return the export's id
   * @throws Problem when a parameter is not offered, a value cannot be understood, the caller may
   *     not read a type that is asked for, or there is no such Group or it lists no members
   */
  public String start(Extent extent, Map<String, List<String>> given, String request) {
    List<String> offered = extent.offered().toList();
    Set<String> asked = new LinkedHashSet<>();
    List<String> filters = new ArrayList<>();
    long since = Long.MIN_VALUE;
    for (Map.Entry<String, List<String>> parameter : given.entrySet()) {
      for (String value : parameter.getValue()) {
        switch (parameter.getKey()) {
          case "_outputFormat" -> requireFormat(value, parameter.getKey());
          case "_since" -> since = moment(value);
          case "_type" -> asked.addAll(Arrays.asList(value.split(",", -1)));
          // Commas also stand inside a search; what begins another one is a type.
          case "_typeFilter" ->
              filters.addAll(Arrays.asList(value.split(",(?=[A-Z][A-Za-z]*\\?)")));
          default ->
              throw Problem.of(
                  Problem.Kind.UNKNOWN_PARAMETER,
                  "An export takes _outputFormat, _since, _type and _typeFilter.",
                  parameter.getKey());
        }
      }
    }
    asked.forEach(type -> requireOffered(type, offered));
    List<String> types = asked.isEmpty() ? guard.whole(offered) : List.copyOf(asked);
    types.forEach(guard::requireAll);
    requireAboutPeople(extent, types);
    filters.forEach(filter -> read(filter, types));
    long now = clock.millis();
    Set<String> members = extent.group().isEmpty() ? Set.of() : members(extent.group(), now);
    Job job =
        new Job(
            ResourceStore.newId(),
            request,
            extent.people(),
            extent.group(),
            types,
            filters,
            since,
            now,
            now + keep.toMillis(),
            0,
            "",
            0);
    QuarkusTransaction.requiringNew().run(() -> store.add(job, members));
    return job.id();
  }

  /** Whom a Group has as members at a moment, by their normalised references. */
  private Set<String> members(String id, long nowMs) {
    Group group =
        records
            .kept(GROUP, id, OptionalLong.empty())
            .map(kept -> (Group) kept.parsed().get())
            .orElseThrow(() -> records.absent(Address.of(GROUP, id)));
    if (!group.getActual()) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED,
          "The Group says what its members have in common, not who they are; one that is exported lists them.",
          "Group.actual");
    }
    return group.getMember().stream()
        .filter(member -> !member.getInactive())
        .filter(member -> isAt(member.getPeriod(), nowMs))
        .map(Group.GroupMemberComponent::getEntity)
        .filter(Reference::hasReference)
        .map(entity -> references.normal(entity.getReference()))
        .filter(member -> References.typeOf(member).equals("Patient"))
        .collect(Collectors.toCollection(TreeSet::new));
  }

  private static boolean isAt(Period period, long nowMs) {
    return TimeSpan.of(period)
        .filter(span -> nowMs < span.lowMs() || nowMs >= span.highMs())
        .isEmpty();
  }

  /** Requires that a format is newline-delimited JSON, in which many records are moved at once. */
  static void requireFormat(String value, String parameter) {
    if (!FORMATS.contains(value.replace(' ', '+'))) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST, "The format is application/fhir+ndjson.", parameter);
    }
  }

  private static long moment(String value) {
    return TimeSpan.parse(value.replace(' ', '+'))
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.BAD_REQUEST,
                    "A moment is asked for as 2026-03-02T18:00:00Z.",
                    "_since"))
        .lowMs();
  }

  private static void requireOffered(String type, List<String> offered) {
    if (!offered.contains(type)) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "The type '%s' is not exported here. Exported are: %s."
              .formatted(type, String.join(", ", offered)),
          "_type");
    }
  }

  private void requireAboutPeople(Extent extent, List<String> types) {
    if (extent.people() && types.stream().noneMatch(compartment.types()::contains)) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "None of these types is about people; ask for them by [base]/$export.",
          "_type");
    }
  }

  /** The searches of a filter, as criteria on the records of its type. */
  private List<Query.Criterion> read(String filter, List<String> types) {
    EntryUrl search = EntryUrl.read(filter.replace("+", "%2B"), references.base());
    if (!types.contains(search.type()) || !search.id().isEmpty() || search.query().isEmpty()) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "A filter is a search of a type that is exported, such as Observation?status=final; '%s' is none."
              .formatted(filter),
          "_typeFilter");
    }
    search.query().keySet().stream()
        .filter(name -> name.startsWith("_") && !OF_RECORDS.contains(name))
        .forEach(
            name -> {
              throw Problem.of(
                  Problem.Kind.UNKNOWN_PARAMETER,
                  "'" + name + "' concerns the answer to a search; an export takes none of those.",
                  "_typeFilter");
            });
    Query query = searching.read(search.type(), search.query());
    List<Query.Criterion> criteria = new ArrayList<>(query.criteria());
    if (!query.subjects().isEmpty()) {
      criteria.add(new Query.About(query.subjects()));
    }
    return criteria;
  }

  // ---- looking ----

  /**
   * How an export stands.
   *
   * @param request the address by which it was asked for
   * @param at the moment as of which records are given
   * @param ends when it is forgotten
   * @param percent how much of it has been divided into files
   * @param files its files, once all of it has
   */
  public record Standing(
      String request, Instant at, Instant ends, int percent, Optional<List<Output>> files) {}

  /**
   * A file of an export.
   *
   * @param number its number in the export
   * @param type the type of its records
   * @param deleted whether it tells of deletions
   * @param count how many records it has, or deletions; -1 where this is not known
   */
  public record Output(int number, String type, boolean deleted, long count) {}

  /**
   * How an export stands.
   *
   * @throws Problem when there is none of this id, any more (404), or the caller may not read all
   *     of it (403)
   */
  public Standing standing(String id) {
    Job job = find(id);
    job.types().forEach(guard::requireAll);
    boolean divided = job.typeIndex() == ExportStore.DIVIDED;
    return new Standing(
        job.request(),
        Instant.ofEpochMilli(job.atMs()),
        Instant.ofEpochMilli(job.endsMs()),
        divided ? 100 : 100 * job.typeIndex() / Dividing.steps(job),
        divided ? Optional.of(files(id).stream().map(Exports::output).toList()) : Optional.empty());
  }

  private static Output output(File file) {
    return new Output(file.number(), file.type(), file.deleted(), file.records());
  }

  private Job find(String id) {
    return QuarkusTransaction.joiningExisting()
        .call(() -> store.find(id, clock.millis()))
        .orElseThrow(
            () -> Problem.of(Problem.Kind.NOT_FOUND, "There is no export of this id, or no more."));
  }

  private List<File> files(String id) {
    return QuarkusTransaction.joiningExisting().call(() -> store.files(id));
  }

  /**
   * Cancels an export, or forgets one that is done.
   *
   * @throws Problem when there is none, or the caller may not read all of it
   */
  public void cancel(String id) {
    find(id).types().forEach(guard::requireAll);
    QuarkusTransaction.requiringNew().run(() -> store.drop(id));
  }

  // ---- reading ----

  /** Takes the lines of a file. */
  public interface Lines {
    /** Takes the text of one resource, without a line break. */
    void take(String json) throws IOException;
  }

  /** A file of an export that the caller may read, to be sent. */
  public final class Content {
    private final Job job;
    private final File file;

    private Content(Job job, File file) {
      this.job = job;
      this.file = file;
    }

    /** Sends it, line by line. Only one page of records is held at a time. */
    public void send(Lines to) throws IOException {
      String after = file.afterId();
      boolean more = true;
      while (more) {
        String from = after;
        List<Line> page = QuarkusTransaction.requiringNew().call(() -> lines(job, file, from));
        for (Line line : page) {
          if (line.id().compareTo(file.lastId()) <= 0) {
            to.take(text(line));
          }
        }
        more = page.size() == PAGE;
        after = page.isEmpty() ? from : page.get(page.size() - 1).id();
        more &= after.compareTo(file.lastId()) < 0;
      }
    }

    private String text(Line line) {
      if (file.deleted()) {
        return deletion(file.type() + "/" + line.id());
      }
      return file.type().equals("DocumentReference") ? absolute(line.json()) : line.json();
    }
  }

  /** A transaction that deletes a record, as one line. */
  private static String deletion(String name) {
    return ("{\"resourceType\":\"Bundle\",\"type\":\"transaction\",\"entry\":[{\"request\":"
            + "{\"method\":\"DELETE\",\"url\":\"%s\"}}]}")
        .formatted(name);
  }

  /**
   * The address of a paper as an absolute one, as the standard asks. The text that is looked for
   * cannot stand inside a JSON string, where its quotation marks would be escaped.
   */
  private String absolute(String json) {
    return json.replace("\"url\":\"Binary/", "\"url\":\"" + references.base() + "Binary/");
  }

  /**
   * A file of an export.
   *
   * @param id the export's id
   * @param number the file's number in it
   * @throws Problem when there is none (404), or the caller may not read all of it (403)
   */
  public Content content(String id, int number) {
    Job job = find(id);
    File file =
        files(id).stream()
            .filter(one -> one.number() == number && job.typeIndex() == ExportStore.DIVIDED)
            .findFirst()
            .orElseThrow(() -> Problem.of(Problem.Kind.NOT_FOUND, "The export has no such file."));
    guard.requireAll(file.type());
    return new Content(job, file);
  }

  private List<Line> lines(Job job, File file, String after) {
    List<Query.Criterion> filter = filter(job, file.type());
    if (filter.isEmpty() || file.deleted()) {
      return store.lines(snapshot(job, file.type()), file.deleted(), after, PAGE);
    }
    Query query = Query.byId(file.type(), filter, PAGE).from(new Query.Cursor(List.of(after)));
    return resources.search(query).stream()
        .map(found -> new Line(found.stored().id(), found.stored().json()))
        .toList();
  }

  /** Which records of a type an export has. */
  Snapshot snapshot(Job job, String type) {
    return new Snapshot(type, whose(job, type), job.id(), job.sinceMs(), job.atMs());
  }

  private Whose whose(Job job, String type) {
    boolean onlyPeople = job.people() && compartment.isOnlyAboutPeople(type);
    if (job.group().isEmpty()) {
      return onlyPeople ? Whose.PEOPLE : Whose.ANYONE;
    }
    return onlyPeople ? Whose.MEMBERS : Whose.MEMBERS_OR_NOBODY;
  }

  /**
   * What records of a type must meet to be found by a search; empty when they are read without one.
   * A trail says whom it is about only by what it is the trail of, which a search finds.
   */
  List<Query.Criterion> filter(Job job, String type) {
    List<List<Query.Criterion>> ways =
        job.filters().stream()
            .filter(filter -> filter.startsWith(type + "?"))
            .map(filter -> read(filter, job.types()))
            .toList();
    boolean trailOfMembers = !job.group().isEmpty() && type.equals(Compartment.PROVENANCE);
    if (ways.isEmpty() && !trailOfMembers) {
      return List.of();
    }
    List<Query.Criterion> all = new ArrayList<>();
    if (!ways.isEmpty()) {
      all.add(new Query.Either(ways));
    }
    Snapshot snapshot = snapshot(job, type);
    all.add(updated(Query.Comparison.BEGINS_BEFORE, snapshot.atMs() + 1));
    if (snapshot.sinceMs() != Long.MIN_VALUE) {
      all.add(updated(Query.Comparison.BEGINS_AFTER, snapshot.sinceMs() + 1));
    }
    if (trailOfMembers) {
      all.add(new Query.LeadsToMembers("target", job.id()));
    } else {
      whose(snapshot).ifPresent(all::add);
    }
    return all;
  }

  private static Optional<Query.Criterion> whose(Snapshot snapshot) {
    Query.Criterion members = new Query.AboutMembers(snapshot.jobId());
    Query.Criterion nobody = new Query.Not(new Query.HasSubject());
    return switch (snapshot.whose()) {
      case ANYONE -> Optional.empty();
      case PEOPLE -> Optional.of(new Query.HasSubject());
      case MEMBERS -> Optional.of(members);
      case MEMBERS_OR_NOBODY ->
          Optional.of(new Query.Either(List.of(List.of(nobody), List.of(members))));
    };
  }

  private static Query.Criterion updated(Query.Comparison comparison, long momentMs) {
    return new Query.Updated(List.of(new Query.DateTest(comparison, momentMs, momentMs)));
  }
}
