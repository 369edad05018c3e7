package org.tidemark.exchange;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.parser.DataFormatException;
import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.core.StreamReadFeature;
import com.fasterxml.jackson.databind.DeserializationFeature;
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.cfg.JsonNodeFeature;
import com.fasterxml.jackson.databind.json.JsonMapper;
import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.net.URI;
import java.nio.charset.StandardCharsets;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.application.People;
import org.tidemark.fhir.BodyCheck;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.fhir.Texts;

/** What the services share: reading and writing JSON, whom a call is about, cards of ours. */
@ApplicationScoped
class CardDesk {
  private static final String BUNDLE = "org.tidemark.exchange.cards";
  private static final String LABEL = "Tidemark";

  /** Strict, and numbers keep their decimals. */
  private static final JsonMapper JSON =
      JsonMapper.builder()
          .enable(StreamReadFeature.STRICT_DUPLICATE_DETECTION)
          .enable(DeserializationFeature.FAIL_ON_TRAILING_TOKENS)
          .enable(DeserializationFeature.USE_BIG_DECIMAL_FOR_FLOATS)
          .disable(JsonNodeFeature.STRIP_TRAILING_BIGDECIMAL_ZEROES)
          .build();

  /** What cannot be read, other than what is missing or unknown. */
  private static final Set<Problem.Kind> WRONG =
      Set.of(
          Problem.Kind.MALFORMED,
          Problem.Kind.WRONG_SHAPE,
          Problem.Kind.INVALID_VALUE,
          Problem.Kind.BAD_CHARACTER);

  private final FhirContext context;
  private final BodyCheck bodyCheck;
  private final References references;
  private final People people;

  CardDesk(FhirContext context, BodyCheck bodyCheck, References references, People people) {
    this.context = context;
    this.bodyCheck = bodyCheck;
    this.references = references;
    this.people = people;
  }

  /** The texts of cards in a language. */
  static Texts texts(Locale language) {
    return Texts.of(BUNDLE, language);
  }

  /**
   * Reads a body.
   *
   * @throws HookProblem when it is no JSON object
   */
  static Member body(byte[] bytes) throws IOException {
    try {
      JsonNode node = JSON.readTree(bytes);
      if (!node.isObject()) {
        throw HookProblem.unreadable("The body is not a JSON object.");
      }
      return new Member("", node);
    } catch (JsonProcessingException e) {
      throw HookProblem.unreadable(
          "The body is not valid JSON (line %d, column %d)."
              .formatted(e.getLocation().getLineNr(), e.getLocation().getColumnNr()));
    }
  }

  /** A body as bytes. */
  static byte[] bytes(JsonNode body) throws IOException {
    return JSON.writeValueAsBytes(body);
  }

  /**
   * A resource that was sent.
   *
   * @throws HookProblem when R4 does not have it so
   */
  <T extends Resource> T resource(Member member, Class<T> type) {
    String json = member.object().node().toString();
    requireShape(json, member);
    try {
      return context.newJsonParser().parseResource(type, json);
    } catch (DataFormatException e) {
      throw HookProblem.malformed(
          member.path(), "'" + member.path() + "' is not a " + type.getSimpleName() + " of R4.");
    }
  }

  /** What is missing, or not of R4, is passed over: a draft need not be whole. */
  private void requireShape(String json, Member member) {
    try {
      bodyCheck.check(json.getBytes(StandardCharsets.UTF_8), false);
    } catch (Problem problem) {
      problem.issues().stream()
          .filter(issue -> WRONG.contains(issue.kind()))
          .findFirst()
          .ifPresent(
              issue -> {
                throw refused(issue, member);
              });
    }
  }

  /** A complaint about a resource, by its place in the body. */
  static HookProblem refused(Problem.Issue issue, Member member) {
    String element = issue.expressions().stream().findFirst().orElse("");
    int dot = element.indexOf('.');
    return HookProblem.malformed(
        member.path() + (dot < 0 ? "" : element.substring(dot)), issue.text());
  }

  /** A resource as it is sent. */
  JsonNode json(Resource resource) {
    try {
      return JSON.readTree(context.newJsonParser().encodeResourceToString(resource));
    } catch (JsonProcessingException e) {
      throw new IllegalStateException("a resource of ours is no JSON", e);
    }
  }

  /**
   * The references under which plans of the person of a call may be kept.
   *
   * @throws HookProblem when it cannot be told who the person is
   */
  Set<String> subjects(HookCall call) {
    Optional<Patient> known = call.patient().given().map(this::patient);
    if (known
        .filter(p -> p.hasIdElement() && !p.getIdPart().equals(call.patientId()))
        .isPresent()) {
      throw HookProblem.malformed(
          call.patient().path() + ".id", "The Patient is not the one of 'context.patientId'.");
    }
    try {
      return people
          .find(call.patientId(), call.server(), known)
          .orElseThrow(
              () ->
                  HookProblem.unmet(
                      call.patient().path(),
                      "The person is not known here by this id; the Patient with its identifiers is"
                          + " needed as 'prefetch.patient'."));
    } catch (Problem ambiguous) {
      throw HookProblem.unmet(call.patient().path() + ".identifier", ambiguous.getMessage());
    }
  }

  private Patient patient(Member member) {
    Member type = member.object().at("resourceType");
    if (!type.text().equals("Patient")) {
      throw HookProblem.malformed(type.path(), "'" + type.path() + "' must be Patient.");
    }
    return resource(member, Patient.class);
  }

  /**
   * A card of ours.
   *
   * @param plan the id of the CarePlan whose page it leads to, if it is about a plan
   */
  Card card(Texts texts, String indicator, String summary, String detail, Optional<String> plan) {
    URI base = URI.create(references.base());
    Card card =
        new Card(indicator, summary, detail).source(LABEL, base.resolve("../guide").toString());
    plan.ifPresent(
        id -> card.link(texts.of("link.plan"), base.resolve("../plan/" + id).toString()));
    return card;
  }
}
