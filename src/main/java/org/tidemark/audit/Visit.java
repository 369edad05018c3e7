package org.tidemark.audit;

import static java.nio.charset.StandardCharsets.UTF_8;

import java.net.URLEncoder;
import java.time.Clock;
import java.util.ArrayList;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.stream.Collectors;
import org.tidemark.fhir.References;
import org.tidemark.store.AuditEntry;

/**
 * One request, and what it has done so far. It is bound to the thread that serves the request;
 * where none is bound, the service works for itself and nothing is noted.
 *
 * <p>What a request does is noted where records are read and written. A request that is more than
 * the records it looks at (an operation, a page, a card), or of which nothing was noted, is told as
 * a whole, for each person that it showed.
 */
public final class Visit {
  private static final ThreadLocal<Visit> CURRENT = new ThreadLocal<>();
  private static final int FIRST_REFUSAL = 400;
  private static final int FIRST_FAULT = 500;

  private final Call call;
  private final String address;
  private final String requestId;
  private final Clock clock;
  private final List<AuditEntry> noted = new ArrayList<>();
  private final Set<String> people = new LinkedHashSet<>();
  private String clinic;
  private String client = "";
  private String user = "";
  private String asked;
  private boolean kept;

  /**
   * A request that has arrived.
   *
   * @param call what it asks for
   * @param address from where it came
   * @param requestId its id
   * @param clinic the clinic whose trail it goes to as long as it is not known for which it is
   */
  public Visit(Call call, String address, String requestId, String clinic, Clock clock) {
    this.call = call;
    this.clinic = clinic;
    this.address = address;
    this.requestId = requestId;
    this.clock = clock;
    this.asked = call.line();
  }

  /**
   * Work of a request.
   *
   * @param <E> what it may throw
   * @param <F> what it may throw besides
   */
  public interface Work<E extends Exception, F extends Exception> {
    /** Does it. */
    void run() throws E, F;
  }

  /** Does the work of this request. */
  public <E extends Exception, F extends Exception> void during(Work<E, F> work) throws E, F {
    CURRENT.set(this);
    try {
      work.run();
    } finally {
      CURRENT.remove();
    }
  }

  /** Says for which clinic it is. */
  public void at(String known) {
    clinic = known;
  }

  /** The clinic whose trail it goes to. */
  String clinic() {
    return clinic;
  }

  /**
   * Says who it is.
   *
   * @param ofToken the client that the token was given to
   * @param named the user that the token names, or empty
   */
  public void by(String ofToken, String named) {
    client = ofToken;
    user = named;
  }

  // ---- noting, on the thread of the request ----

  /** Says who sends the request, once that has come out on the way; see {@link #by}. */
  public static void sentBy(String ofToken, String named) {
    Visit visit = CURRENT.get();
    if (visit != null) {
      visit.by(ofToken, named);
    }
  }

  /** Notes that something was done to a version of a record; version 0 where none is meant. */
  public static void did(Interaction what, String entity, long version, String subject) {
    Visit visit = CURRENT.get();
    if (visit == null) {
      return;
    }
    if (what.looks() && visit.isWhole()) {
      visit.show(subject);
    } else {
      visit.noted.add(visit.success(what, entity, version, patient(subject), ""));
    }
  }

  /** Notes a search or history, and whom its answer is about. */
  public static void showed(Interaction what, String entity, Set<String> subjects) {
    Visit visit = CURRENT.get();
    if (visit == null) {
      return;
    }
    if (visit.isWhole()) {
      subjects.forEach(visit::show);
    } else {
      persons(subjects)
          .forEach(person -> visit.noted.add(visit.success(what, entity, 0, person, visit.asked)));
    }
  }

  /** Notes that the answer tells something about a person. */
  public static void about(String subject) {
    Visit visit = CURRENT.get();
    if (visit != null) {
      visit.show(subject);
    }
  }

  /** Says which entry of a Bundle is carried out from now on. */
  public static void entry(String method, String url) {
    Visit visit = CURRENT.get();
    if (visit != null) {
      visit.asked = method + " " + url;
    }
  }

  /** Says what a search by POST was given in its form. */
  public static void form(Map<String, List<String>> given) {
    Visit visit = CURRENT.get();
    if (visit != null && visit.call.isForm()) {
      String form =
          given.entrySet().stream()
              .flatMap(entry -> entry.getValue().stream().map(v -> encoded(entry.getKey(), v)))
              .collect(Collectors.joining("&"));
      visit.asked = visit.call.line() + "\n" + form;
    }
  }

  private static String encoded(String name, String value) {
    return URLEncoder.encode(name, UTF_8) + "=" + URLEncoder.encode(value, UTF_8);
  }

  /** Notes that an entry of a batch was refused, or failed. */
  public static void failed(String method, String url, int status) {
    Visit visit = CURRENT.get();
    if (visit != null) {
      String path = url.split("\\?", 2)[0];
      visit.noted.add(visit.failure(Call.fhir(method, path, method + " " + url), status));
    }
  }

  /** What has been noted so far, to come back to. */
  static int mark() {
    Visit visit = CURRENT.get();
    return visit == null ? 0 : visit.noted.size();
  }

  /** What was noted since a mark did not happen. */
  static void forget(int mark) {
    Visit visit = CURRENT.get();
    if (visit != null) {
      visit.noted.subList(Math.min(mark, visit.noted.size()), visit.noted.size()).clear();
    }
  }

  /** What was noted since a mark, and the request itself where it is told as a whole. */
  static List<AuditEntry> since(int mark) {
    Visit visit = CURRENT.get();
    if (visit == null) {
      return List.of();
    }
    List<AuditEntry> since = new ArrayList<>(visit.noted.subList(mark, visit.noted.size()));
    if (visit.isWhole() && !visit.kept) {
      since.addAll(visit.whole());
    }
    return since;
  }

  /** What was noted since a mark has been kept. */
  static void kept(int mark) {
    Visit visit = CURRENT.get();
    if (visit != null) {
      visit.kept |= visit.isWhole() || mark < visit.noted.size();
      forget(mark);
    }
  }

  /**
   * What has not been kept yet, when all is done.
   *
   * @param status the status of the answer
   */
  List<AuditEntry> rest(int status) {
    if (status >= FIRST_REFUSAL) {
      return List.of(failure(call, status));
    }
    List<AuditEntry> rest = new ArrayList<>(noted);
    if (!kept && (isWhole() || noted.isEmpty())) {
      rest.addAll(whole());
    }
    return rest;
  }

  private List<AuditEntry> whole() {
    return persons(people).stream()
        .map(
            person ->
                success(
                    call.interaction(), call.entity(), call.entityVersion(), person, call.line()))
        .toList();
  }

  private boolean isWhole() {
    return call.interaction() == Interaction.OPERATION || call.interaction() == Interaction.PAGE;
  }

  private void show(String subject) {
    if (subject != null) {
      people.add(subject);
    }
  }

  /** Each person, or nobody once. */
  private static List<String> persons(Set<String> subjects) {
    List<String> persons =
        subjects.stream().map(Visit::patient).filter(person -> !person.isEmpty()).toList();
    return persons.isEmpty() ? List.of("") : persons;
  }

  private static String patient(String subject) {
    return subject != null && References.typeOf(subject).equals("Patient") ? subject : "";
  }

  private AuditEntry success(
      Interaction what, String entity, long version, String patient, String line) {
    return entry(what, "0", 0, entity, version, patient, line);
  }

  private AuditEntry failure(Call of, int status) {
    String outcome = status < FIRST_FAULT ? "4" : "8";
    return entry(of.interaction(), outcome, status, of.entity(), of.entityVersion(), "", of.line());
  }

  private AuditEntry entry(
      Interaction what,
      String outcome,
      int status,
      String entity,
      long version,
      String patient,
      String line) {
    return new AuditEntry(
        clock.millis(),
        what.code(),
        what.action(),
        outcome,
        status,
        client,
        user,
        address,
        requestId,
        entity,
        version,
        patient,
        line);
  }
}
