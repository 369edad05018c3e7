package org.tidemark.demo;

import java.time.DayOfWeek;
import java.time.LocalDate;
import java.time.LocalTime;
import java.time.ZoneId;
import java.time.format.DateTimeFormatter;
import java.time.temporal.ChronoUnit;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.HashMap;
import java.util.HashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Random;
import java.util.Set;
import java.util.TreeMap;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.fhir.Codes;

/**
 * A person's diary, told by what differs from an ordinary day: a session in the evening with
 * contact and no pain above rest, and a quiet morning after it. Small variation comes from a seeded
 * generator, so the same story gives the same diary.
 */
final class Story {
  static final LocalDate FIRST_DAY = LocalDate.of(2026, 3, 2);
  static final LocalDate LAST_DAY = LocalDate.of(2026, 8, 2);
  private static final ZoneId ZONE = ZoneId.of("Europe/London");
  private static final DateTimeFormatter SECONDS =
      DateTimeFormatter.ofPattern("uuuu-MM-dd'T'HH:mm:ssXXX");

  /** How a day felt, on the pain scale: during the session, after it, and the next morning. */
  record Felt(int during, int after, int morning, boolean swollen, boolean willing) {}

  /** How much was done from a day on: sets, and repetitions or seconds held in a set. */
  private record Amount(int sets, int repetitions, int seconds) {}

  final String person;
  private final CodeableConcept bodySite;
  private final int rest;
  private final boolean contactAsked;
  private final Random random;
  private final Set<LocalDate> off = new HashSet<>();
  private final Set<LocalDate> bare = new HashSet<>();
  private final Set<LocalDate> noContact = new HashSet<>();
  private final Map<LocalDate, Felt> felt = new HashMap<>();
  private final Map<LocalDate, String[]> named = new HashMap<>();
  private final Map<LocalDate, String> mistyped = new HashMap<>();
  private final Map<LocalDate, List<Resource>> extra = new TreeMap<>();
  private final TreeMap<LocalDate, Amount> amounts = new TreeMap<>();
  private LocalDate firstContact = FIRST_DAY;
  private Set<DayOfWeek> week = Set.of(DayOfWeek.values());

  Story(String person, CodeableConcept bodySite, int rest, boolean contactAsked, long seed) {
    this.person = person;
    this.bodySite = bodySite;
    this.rest = rest;
    this.contactAsked = contactAsked;
    this.random = new Random(seed);
  }

  static LocalDate day(String monthAndDay) {
    return LocalDate.parse("2026-" + monthAndDay);
  }

  Story on(DayOfWeek... days) {
    week = Set.of(days);
    return this;
  }

  /** No session on these days. */
  Story off(String... days) {
    Arrays.stream(days).map(Story::day).forEach(off::add);
    return this;
  }

  /** No session from one day to another, both included. */
  Story offFrom(String first, String last) {
    day(first).datesUntil(day(last).plusDays(1)).forEach(off::add);
    return this;
  }

  /** On these days the person's other system sends the pain scores bare. */
  Story bare(String... days) {
    Arrays.stream(days).map(Story::day).forEach(bare::add);
    return this;
  }

  /** Contact is not asked of the exercises before this day. */
  Story contactFrom(String day) {
    firstContact = day(day);
    return this;
  }

  Story noContact(String... days) {
    Arrays.stream(days).map(Story::day).forEach(noContact::add);
    return this;
  }

  Story felt(String day, int during, int after, int morning) {
    return felt(day, new Felt(during, after, morning, false, true));
  }

  Story felt(String day, Felt how) {
    felt.put(day(day), how);
    return this;
  }

  /** On these days each of the exercises is reported on its own and names its prescription. */
  Story named(String first, String last, String... exercises) {
    day(first).datesUntil(day(last).plusDays(1)).forEach(day -> named.put(day, exercises));
    return this;
  }

  /** The morning of this day is first sent with a wrong pain score and corrected at noon. */
  Story mistyped(String day, int pain) {
    mistyped.put(day(day), Integer.toString(pain));
    return this;
  }

  Story doing(String from, int sets, int repetitions, int seconds) {
    amounts.put(day(from), new Amount(sets, repetitions, seconds));
    return this;
  }

  /** Sends a resource in the middle of this day. */
  Story also(String day, Resource resource) {
    extra.computeIfAbsent(day(day), d -> new ArrayList<>()).add(resource);
    return this;
  }

  Story measured(String day, String code, String number, String ucum, String method) {
    Sheet sheet = new Sheet(person + "-" + day(day) + "-" + code, "exam", code);
    sheet.about(person, bodySite).at(time(day(day), LocalTime.of(11, 0)));
    sheet.value(Sheet.of(number, ucum)).method(method);
    return also(day, sheet.done());
  }

  Story warned(String day, String sign) {
    Sheet sheet = new Sheet(person + "-" + day(day) + "-warning", "survey", "warning");
    sheet.about(person, bodySite).at(time(day(day), LocalTime.of(10, 0)));
    sheet.says(Codes.WARNING, sign, Sheet.yes(true));
    return also(day, sheet.done());
  }

  /** A clinician answers the open Task of a code. */
  Story answered(String day, String code, Task.TaskStatus status, String note) {
    Task task = new Task();
    task.setStatus(status);
    task.setIntent(Task.TaskIntent.ORDER);
    String system = code.equals("approve") ? Codes.TASK_CODE : Codes.CLINICIAN_TASK;
    task.setCode(Codes.concept(system, code, null));
    task.setFor(new Reference("Patient/" + person));
    task.setOwner(new Reference("Practitioner/" + DemoPeople.THERAPIST));
    Period period = new Period();
    period.setEndElement(new DateTimeType(time(day(day), LocalTime.of(14, 30))));
    task.setExecutionPeriod(period);
    task.addNote().setText(note);
    return also(day, task);
  }

  Story flag(String day, Flag flag) {
    return also(day, flag);
  }

  /** The whole diary, in the order it comes in. */
  List<Resource> tell() {
    List<Resource> pages = new ArrayList<>();
    for (LocalDate day = FIRST_DAY; !day.isAfter(LAST_DAY); day = day.plusDays(1)) {
      morning(day, pages);
      pages.addAll(extra.getOrDefault(day, List.of()));
      if (trains(day)) {
        session(day, pages);
      }
    }
    return pages;
  }

  private boolean trains(LocalDate day) {
    return week.contains(day.getDayOfWeek()) && !off.contains(day);
  }

  private Felt feeling(LocalDate day) {
    return felt.getOrDefault(day, new Felt(rest, rest, rest, false, true));
  }

  private void session(LocalDate day, List<Resource> pages) {
    Felt how = feeling(day);
    LocalTime start = LocalTime.of(17 + random.nextInt(2), random.nextInt(50));
    String[] exercises = named.getOrDefault(day, new String[] {""});
    for (int i = 0; i < exercises.length; i++) {
      String id = person + "-" + day + "-session" + (exercises[i].isEmpty() ? "" : "-" + (i + 1));
      LocalTime at = start.plusMinutes(25L * i);
      Sheet sheet = new Sheet(id, "activity", "session").about(person, bodySite).of(exercises[i]);
      sheet.at(time(day, at));
      if (i == 0) {
        done(day, sheet);
      }
      if (contactAsked && !day.isBefore(firstContact)) {
        sheet.says("contact", Sheet.yes(!noContact.contains(day)));
      }
      if (!bare.contains(day)) {
        sheet.says("pain-during", Sheet.score(how.during()));
        sheet.says("pain-after", Sheet.score(how.after()));
      }
      sheet.says("effort", Sheet.score(3 + random.nextInt(3)));
      pages.add(sheet.done());
    }
    if (bare.contains(day)) {
      pages.add(pain("during", day, start.plusMinutes(10), how.during()));
      pages.add(pain("after", day, start.plusMinutes(60), how.after()));
    }
  }

  private void done(LocalDate day, Sheet sheet) {
    Optional<Amount> amount = Optional.ofNullable(amounts.floorEntry(day)).map(Map.Entry::getValue);
    amount.ifPresent(
        much -> {
          sheet.says("sets-done", Sheet.count(much.sets()));
          if (much.repetitions() > 0) {
            sheet.says("repetitions-done", Sheet.count(much.repetitions()));
          }
          if (much.seconds() > 0) {
            sheet.says("time-done", Sheet.of(Integer.toString(much.seconds()), "s"));
          }
        });
  }

  private void morning(LocalDate day, List<Resource> pages) {
    LocalDate before = day.minusDays(1);
    if (before.isBefore(FIRST_DAY) || !trains(before)) {
      return;
    }
    Felt how = feeling(before);
    LocalTime at = LocalTime.of(7, random.nextInt(50));
    int stiffness = how.morning() > rest ? 15 + random.nextInt(15) : random.nextInt(8);
    if (bare.contains(before)) {
      pages.add(pain("morning", day, at, how.morning()));
      return;
    }
    String wrong = mistyped.get(day);
    if (wrong != null) {
      pages.add(morning(day, at, Integer.parseInt(wrong), stiffness, how).version("1").done());
    }
    Sheet sheet = morning(day, at, how.morning(), stiffness, how);
    pages.add(wrong == null ? sheet.done() : sheet.corrected().version("2").done());
  }

  private Sheet morning(LocalDate day, LocalTime at, int pain, int stiffness, Felt how) {
    return new Sheet(person + "-" + day + "-morning", "survey", "morning")
        .about(person, bodySite)
        .at(time(day, at))
        .says("pain-next-morning", Sheet.score(pain))
        .says("stiffness", Sheet.of(Integer.toString(stiffness), "min"))
        .says("more-swollen", Sheet.yes(how.swollen()))
        .says("would-repeat", Sheet.yes(how.willing()));
  }

  private Observation pain(String when, LocalDate day, LocalTime at, int pain) {
    return new Sheet(person + "-" + day + "-pain-" + when, "survey", Codes.LOINC_PAIN)
        .about(person, bodySite)
        .at(time(day, at))
        .value(Sheet.score(pain))
        .done();
  }

  static String time(LocalDate day, LocalTime at) {
    return day.atTime(at).truncatedTo(ChronoUnit.SECONDS).atZone(ZONE).format(SECONDS);
  }
}
