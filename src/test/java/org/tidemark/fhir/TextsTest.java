package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.io.Reader;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.Properties;
import java.util.Set;
import java.util.TreeSet;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CodeSystem;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.MethodSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.decision.Change;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Verdict;
import org.tidemark.decision.Warning;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.trend.Forecast;

/** Every language says all that English says. */
class TextsTest {
  private static final Path FOLDER = Path.of("src/main/resources/org/tidemark/fhir");
  private static final Pattern FILLED = Pattern.compile("\\{\\d+}");

  /** Words that no German sentence of ours has. */
  private static final Pattern ENGLISH =
      Pattern.compile("\\b(the|of|and|is|to|has|not|with|step|clinician)\\b");

  static Stream<Path> translations() throws IOException {
    return Files.list(FOLDER).filter(file -> file.toString().contains("narrative_"));
  }

  @ParameterizedTest
  @MethodSource("translations")
  void aTranslationHasEveryTextAndFillsInTheSame(Path file) throws IOException {
    Properties english = texts(FOLDER.resolve("narrative.properties"));
    Properties other = texts(file);
    Set<String> missing = new TreeSet<>(english.stringPropertyNames());
    codes().forEach(missing::add);
    missing.removeAll(other.stringPropertyNames());
    assertEquals(Set.of(), missing);
    for (String key : english.stringPropertyNames()) {
      assertEquals(
          filled(english.getProperty(key)), filled(other.getProperty(key)), file + ": " + key);
    }
  }

  /** The keys of codes, whose English stands in the code or is the code itself. */
  private static Stream<String> codes() {
    return Stream.of(
            Arrays.stream(Reason.values()).map(reason -> "reason." + reason.code()),
            Arrays.stream(Warning.values()).map(sign -> "warning." + sign.code()),
            Arrays.stream(Warning.Urgency.values()).map(urgency -> "urgency." + lower(urgency)),
            Arrays.stream(Forecast.Reason.values())
                .map(reason -> "no-forecast." + lower(reason).replace('_', '-')),
            Arrays.stream(Matter.values())
                .flatMap(
                    matter ->
                        Stream.of(
                            "matter." + matter.code(), "matter." + matter.code() + ".sentence")),
            published("assist-grade").map(code -> "grade." + code),
            published("position-grade").map(code -> "grade." + code),
            published("equipment-item").map(code -> "item." + code),
            Stream.of("knee-deep-flexion", "standing-heel-raise")
                .flatMap(id -> programme(id, Locale.ENGLISH).needs().stream())
                .flatMap(List::stream)
                .map(code -> "item." + code),
            Stream.of("in-progress", "improving", "achieved", "sustaining")
                .map(code -> "achievement." + code))
        .flatMap(keys -> keys);
  }

  private static String lower(Enum<?> value) {
    return value.name().toLowerCase(Locale.ROOT);
  }

  private static Stream<String> published(String system) {
    return ProfileFiles.all(CodeSystem.class).stream()
        .filter(known -> known.getId().endsWith(system))
        .flatMap(known -> known.getConcept().stream())
        .map(CodeSystem.ConceptDefinitionComponent::getCode);
  }

  private static Properties texts(Path file) throws IOException {
    Properties texts = new Properties();
    try (Reader reader = Files.newBufferedReader(file)) {
      texts.load(reader);
    }
    return texts;
  }

  private static Set<String> filled(String text) {
    Set<String> filled = new TreeSet<>();
    Matcher matcher = FILLED.matcher(text);
    while (matcher.find()) {
      filled.add(matcher.group());
    }
    return filled;
  }

  private static Programme programme(String id, Locale language) {
    return ProgrammeReader.read(
        Translations.into(language, ProfileFiles.plan(id)),
        canonical ->
            ProfileFiles.byCanonical(canonical)
                .map(variation -> Translations.into(language, variation)));
  }

  /** What a programme says to people, in order. */
  private static List<String> said(Programme programme) {
    List<String> said = new ArrayList<>();
    said.add(programme.title());
    programme.goals().forEach(goal -> said.add(goal.title()));
    programme.plateauOptions().forEach(option -> said.add(option.title()));
    programme.stages().forEach(stage -> said.add(stage.title()));
    programme.stages().stream()
        .flatMap(stage -> stage.exercises().stream())
        .map(Exercise::variation)
        .forEach(
            variation -> {
              said.add(variation.title());
              said.add(variation.instruction());
              variation.variables().stream().map(ProgressionVariable::title).forEach(said::add);
            });
    return said;
  }

  @ParameterizedTest
  @ValueSource(strings = {"knee-deep-flexion", "standing-heel-raise"})
  void aProgrammeThatIsShippedSpeaksGerman(String id) {
    List<String> english = said(programme(id, Locale.ENGLISH));
    List<String> german = said(programme(id, Locale.GERMANY));
    assertEquals(english.size(), german.size());
    for (int i = 0; i < english.size(); i++) {
      assertFalse(english.get(i).equals(german.get(i)), english.get(i));
      assertFalse(ENGLISH.matcher(german.get(i)).find(), german.get(i));
    }
  }

  @Test
  void aTextWithoutATranslationStays() {
    assertEquals(
        said(programme("knee-deep-flexion", Locale.ENGLISH)),
        said(programme("knee-deep-flexion", Locale.FRENCH)));
  }

  @ParameterizedTest
  @CsvSource({"de-AT, de", "de, de", "en-GB, en", "fr, en"})
  void whatThereIsNoFileForComesInEnglish(String wanted, String language) {
    assertEquals(language, Texts.of(Locale.forLanguageTag(wanted)).language());
  }

  @Test
  void theFirstLanguageThatThereAreTextsInIsTaken() {
    assertEquals(
        Optional.of(Locale.GERMANY),
        Texts.firstSpoken(List.of(Locale.FRENCH, Locale.GERMANY, Locale.ENGLISH)));
    assertEquals(Optional.empty(), Texts.firstSpoken(List.of(Locale.FRENCH)));
  }

  @Test
  void numbersDaysAndTimesAreWrittenAsInTheLanguage() {
    Texts german = Texts.of(Locale.GERMAN);
    assertEquals("17,5 cm", german.value(Amount.of("17.5", Unit.CENTIMETRE)));
    assertEquals("1250 s", german.value(Amount.of(1250, Unit.SECOND)));
    assertEquals("eine Hand", german.value(new Grade("one-hand")));
    OffsetDateTime at = OffsetDateTime.parse("2026-03-02T09:10:00+01:00");
    assertEquals("2. März 2026, 09:10 Uhr", german.time(at));
    assertEquals("2 March 2026, 09:10", Texts.of(Locale.ENGLISH).time(at));
  }

  @Test
  void aPrescriptionReadsAsGerman() {
    PlanIdentity plan = german();
    assertEquals(
        "Vorwippen in die volle Beugung: Höhe der Stufe unter dem vorderen Fuß 17,5 cm,"
            + " Hilfe der Hände eine Hand; 2 Durchgänge mit 10 Wiederholungen, täglich",
        plan.words().line(Sample.STEP));
    assertEquals(
        "Vorwippen in die volle Beugung: Höhe der Stufe unter dem vorderen Fuß von 24 cm auf"
            + " 17,5 cm",
        plan.words().change(Sample.LOWER));
    assertEquals("Volle Kniebeugung unter Last, Knie rechts", PlanText.title(plan));
  }

  @Test
  void aPlanInGermanHasNoEnglishLeft() {
    PlanIdentity plan = german();
    Decision progress =
        new Sample.Builder(Verdict.PROGRESS, Reason.SETTLED)
            .change(Sample.LOWER)
            .inForce(Sample.STEP)
            .considered(
                new Change.Considered(
                    Sample.LOWER,
                    Reason.STEP_TOO_BIG,
                    Optional.of(new Change.Piece("book", Amount.of(5, Unit.CENTIMETRE))),
                    Optional.empty()))
            .decision()
            .with(List.of(Sample.course(135, 110, 113, 115, 119, 121, 124).figures()));
    for (Decision decision : List.of(progress, Sample.warned(), Sample.incomplete())) {
      String words = PlanText.plan(plan, decision, decision, List.of()).getDivAsString();
      assertTrue(words.contains("lang=\"de\""), words);
      String text = words.replaceAll("<[^>]*>", " ");
      Matcher english = ENGLISH.matcher(text);
      assertFalse(english.find(), text);
    }
  }

  private static PlanIdentity german() {
    return Sample.plan(programme("knee-deep-flexion", Locale.GERMAN), Locale.GERMAN);
  }
}
