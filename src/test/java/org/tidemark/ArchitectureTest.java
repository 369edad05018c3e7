package org.tidemark;

import static com.tngtech.archunit.base.DescribedPredicate.describe;
import static com.tngtech.archunit.core.domain.AccessTarget.Predicates.declaredIn;
import static com.tngtech.archunit.core.domain.JavaAccess.Predicates.target;
import static com.tngtech.archunit.core.domain.JavaClass.Predicates.resideInAPackage;
import static com.tngtech.archunit.core.domain.properties.HasName.Predicates.name;
import static com.tngtech.archunit.lang.syntax.ArchRuleDefinition.classes;
import static com.tngtech.archunit.lang.syntax.ArchRuleDefinition.noClasses;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.tngtech.archunit.base.DescribedPredicate;
import com.tngtech.archunit.core.domain.JavaAccess;
import com.tngtech.archunit.core.domain.JavaClass;
import com.tngtech.archunit.core.domain.JavaClasses;
import com.tngtech.archunit.core.importer.ClassFileImporter;
import com.tngtech.archunit.lang.ArchRule;
import com.tngtech.archunit.lang.EvaluationResult;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.URISyntaxException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Random;
import java.util.Set;
import java.util.TreeMap;
import java.util.stream.Stream;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;
import org.tidemark.quantity.Amount;

/**
 * What each package may use. The lists say what is allowed, so that a new dependency fails until
 * someone allows it; each is shown to bite on an offender among the test sources.
 */
class ArchitectureTest {
  private static final String BASE = "org.tidemark.";

  /** What a pure package may use of the JDK: nothing that reads or writes. */
  private static final List<String> PURE_JDK =
      List.of(
          "java.lang",
          "java.lang.annotation",
          "java.lang.invoke",
          "java.lang.runtime",
          "java.math",
          "java.time..",
          "java.util",
          "java.util.function",
          "java.util.regex",
          "java.util.stream");

  private static final List<String> JDK =
      List.of(
          "java.io",
          "java.lang..",
          "java.math",
          "java.net",
          "java.nio..",
          "java.text",
          "java.time..",
          "java.util..");

  /** HAPI's model, parsers and FHIRPath, without its server and client. */
  private static final List<String> HAPI_MODEL =
      List.of(
          "org.hl7.fhir..",
          "ca.uhn.fhir.context..",
          "ca.uhn.fhir.fhirpath..",
          "ca.uhn.fhir.i18n..",
          "ca.uhn.fhir.model..",
          "ca.uhn.fhir.parser..",
          "ca.uhn.fhir.rest.api",
          "ca.uhn.fhir.rest.param..",
          "ca.uhn.fhir.util..",
          "ca.uhn.fhir.validation..");

  private static final List<String> CDI =
      List.of(
          "jakarta.annotation..",
          "jakarta.enterprise..",
          "jakarta.inject..",
          "jakarta.interceptor..",
          "jakarta.transaction..",
          "org.eclipse.microprofile..",
          "org.jboss.logging..",
          "io.micrometer.core.instrument..",
          "io.opentelemetry.api..",
          "io.opentelemetry.context..",
          "io.quarkus..");

  private static final List<String> CORE =
      List.of("quantity", "programme", "response", "demand", "trend", "decision");

  /** By package: what it may use of the other packages, and of everything else. */
  private static final Map<String, List<String>> ALLOWED = allowed();

  private static final JavaClasses MAIN = new ClassFileImporter().importPath(mainClasses());

  private static Map<String, List<String>> allowed() {
    Map<String, List<String>> allowed = new TreeMap<>();
    allowed.put("quantity", PURE_JDK);
    allowed.put("programme", all(PURE_JDK, ours("quantity")));
    allowed.put("response", all(PURE_JDK, ours("quantity", "programme")));
    allowed.put(
        "demand", all(PURE_JDK, ours("quantity", "programme"), List.of("org.hipparchus..")));
    allowed.put(
        "trend",
        all(
            PURE_JDK,
            ours("quantity"),
            List.of("org.hipparchus..", "org.apache.commons.numbers.gamma..")));
    allowed.put("decision", all(PURE_JDK, ours(CORE), List.of("org.hipparchus..")));
    allowed.put("access", all(PURE_JDK, List.of("java.net", "java.nio.charset")));
    allowed.put(
        "fhir",
        all(
            JDK,
            HAPI_MODEL,
            ours(CORE),
            List.of(
                "org.fhir.ucum..",
                "io.quarkus.qute",
                "com.fasterxml.jackson..",
                "jakarta.json..",
                "javax.xml..",
                "org.xml.sax..")));
    allowed.put(
        "clinic",
        all(
            JDK,
            List.of(
                "jakarta.inject..",
                "org.eclipse.microprofile.config..",
                "io.quarkus.runtime.configuration")));
    allowed.put(
        "store",
        all(
            JDK,
            CDI,
            ours("clinic"),
            List.of(
                "java.security",
                "java.sql",
                "javax.sql",
                "jakarta.persistence..",
                "org.hibernate..",
                "org.h2..",
                "org.flywaydb.core..",
                "io.agroal.api..",
                "io.smallrye.config..")));
    allowed.put(
        "audit",
        all(
            JDK,
            CDI,
            ours("clinic", "fhir", "store"),
            List.of("org.hl7.fhir..", "ca.uhn.fhir.context..", "ca.uhn.fhir.parser..")));
    allowed.put(
        "application",
        all(
            JDK,
            CDI,
            ours(CORE),
            ours("access", "audit", "clinic", "fhir", "report", "store"),
            List.of(
                "java.security", "org.hl7.fhir..", "ca.uhn.fhir..", "com.fasterxml.jackson..")));
    allowed.put(
        "http",
        all(
            JDK,
            CDI,
            ours("access", "application", "audit", "clinic", "fhir"),
            List.of(
                "java.security..",
                "org.hl7.fhir..",
                "ca.uhn.fhir..",
                "com.github.benmanes.caffeine..",
                "io.smallrye.config..",
                "io.smallrye.jwt..",
                "jakarta.json..",
                "jakarta.servlet..",
                "com.fasterxml.jackson..",
                "io.github.bucket4j..",
                "io.netty.handler.codec.http",
                "io.vertx.core..",
                "io.vertx.ext.web..",
                "org.jboss.logmanager..",
                "io.swagger.v3..")));
    allowed.put(
        "exchange",
        all(
            JDK,
            CDI,
            ours("application", "clinic", "fhir", "http"),
            List.of(
                "java.security",
                "io.vertx.core..",
                "org.hl7.fhir..",
                "ca.uhn.fhir..",
                "jakarta.servlet..",
                "com.fasterxml.jackson..",
                "org.jose4j..")));
    allowed.put(
        "recordsystem",
        all(
            JDK,
            CDI,
            ours("application", "clinic", "exchange", "fhir", "http", "store"),
            List.of(
                "org.hl7.fhir..",
                "ca.uhn.fhir..",
                "jakarta.servlet..",
                "com.fasterxml.jackson..",
                "org.jose4j..")));
    allowed.put(
        "operation",
        all(
            JDK,
            CDI,
            ours("application", "audit", "clinic", "store"),
            List.of("java.sql", "io.agroal.api..", "io.smallrye.config..")));
    allowed.put(
        "load",
        all(JDK, List.of("java.net.http", "com.fasterxml.jackson..", "me.tongfei.progressbar..")));
    allowed.put(
        "report",
        all(
            JDK,
            CDI,
            HAPI_MODEL,
            ours(CORE),
            ours("fhir"),
            List.of("com.openhtmltopdf..", "java.awt")));
    allowed.put(
        "sandbox",
        all(
            JDK,
            CDI,
            ours("access", "application", "clinic", "http", "store"),
            List.of(
                "java.security..",
                "com.fasterxml.jackson..",
                "jakarta.servlet..",
                "org.jose4j..")));
    allowed.put(
        "signin",
        all(
            JDK,
            CDI,
            ours("access", "application", "audit", "clinic", "exchange", "fhir", "http", "store"),
            List.of(
                "java.security..",
                "javax.crypto..",
                "com.fasterxml.jackson..",
                "jakarta.servlet..",
                "org.jose4j..")));
    allowed.put(
        "demo",
        all(
            JDK,
            ours("fhir"),
            List.of(
                "java.net.http",
                "io.quarkus.runtime",
                "org.eclipse.microprofile.config",
                "org.hl7.fhir..",
                "ca.uhn.fhir..",
                "com.fasterxml.jackson..",
                "org.slf4j..",
                "me.tongfei.progressbar..")));
    return allowed;
  }

  static Set<String> packages() {
    return ALLOWED.keySet();
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("packages")
  void usesOnlyWhatItMay(String name) {
    usesOnlyAllowed(name).check(MAIN);
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("packages")
  void anOffenderIsFound(String name) {
    EvaluationResult result = usesOnlyAllowed(name).evaluate(offenders(name + ".offender"));
    assertTrue(
        result.getFailureReport().getDetails().stream()
            .anyMatch(detail -> detail.contains(BASE + name + ".offender.Offender.forbidden")),
        result.getFailureReport().toString());
  }

  /** Every package has its list, so that a new one is not forgotten. */
  @Test
  void everyClassLivesInAPackageOfTheList() {
    livesInAListedPackage().check(MAIN);
    assertTrue(livesInAListedPackage().evaluate(offenders("offender")).hasViolation());
  }

  /** Time and chance come in from outside, so that the same facts give the same decision. */
  @Test
  void thePurePackagesReadNoClockAndThrowNoDice() {
    readsNoClock().check(MAIN);
    EvaluationResult result = readsNoClock().evaluate(offenders("decision.offender"));
    assertEquals(
        7, result.getFailureReport().getDetails().size(), result.getFailureReport().toString());
  }

  @Test
  void everyPackageSaysWhatItHolds() throws IOException {
    Path sources = Path.of("src/main/java/org/tidemark");
    List<Path> silent;
    try (Stream<Path> folders = Files.list(sources)) {
      silent =
          folders
              .filter(Files::isDirectory)
              .filter(folder -> !Files.exists(folder.resolve("package-info.java")))
              .toList();
    }
    assertEquals(List.of(), silent);
  }

  private static ArchRule usesOnlyAllowed(String name) {
    List<String> allowed = new ArrayList<>(ALLOWED.get(name));
    allowed.add(BASE + name + "..");
    return classes()
        .that()
        .resideInAPackage(BASE + name + "..")
        .should()
        .onlyDependOnClassesThat(inAny(allowed))
        .allowEmptyShould(true);
  }

  /** An array is where its elements are, and a primitive is everywhere. */
  private static DescribedPredicate<JavaClass> inAny(List<String> allowed) {
    DescribedPredicate<JavaClass> inside =
        JavaClass.Predicates.resideInAnyPackage(allowed.toArray(String[]::new));
    return describe(
        "reside in any of " + allowed,
        type ->
            type.getBaseComponentType().isPrimitive() || inside.test(type.getBaseComponentType()));
  }

  /** Only the class that starts the service stands outside the packages. */
  private static ArchRule livesInAListedPackage() {
    return classes()
        .that()
        .doNotBelongToAnyOf(Tidemark.class)
        .should()
        .resideInAnyPackage(
            ALLOWED.keySet().stream().map(name -> BASE + name + "..").toArray(String[]::new));
  }

  private static ArchRule readsNoClock() {
    DescribedPredicate<JavaAccess<?>> now =
        target(name("now")).and(target(declaredIn(resideInAPackage("java.time.."))));
    DescribedPredicate<JavaAccess<?>> systemTime =
        target(declaredIn(System.class))
            .and(target(name("currentTimeMillis")).or(target(name("nanoTime"))));
    DescribedPredicate<JavaAccess<?>> chance =
        target(name("randomUUID"))
            .or(target(declaredIn(Math.class)).and(target(name("random"))))
            .or(describe("Random without a seed", ArchitectureTest::isUnseeded));
    String[] pure =
        Stream.concat(CORE.stream(), Stream.of("fhir"))
            .map(name -> BASE + name + "..")
            .toArray(String[]::new);
    return noClasses()
        .that()
        .resideInAnyPackage(pure)
        .should()
        .accessTargetWhere(now.or(systemTime).or(chance));
  }

  private static boolean isUnseeded(JavaAccess<?> access) {
    return access.getTargetOwner().isAssignableTo(Random.class)
        && access.getTarget().getFullName().endsWith("<init>()");
  }

  private static JavaClasses offenders(String name) {
    return new ClassFileImporter().importPackages(BASE + name);
  }

  private static List<String> ours(String... names) {
    return ours(List.of(names));
  }

  private static List<String> ours(List<String> names) {
    return names.stream().map(name -> BASE + name + "..").toList();
  }

  @SafeVarargs
  private static List<String> all(List<String>... lists) {
    List<String> together = new ArrayList<>();
    for (List<String> list : lists) {
      together.addAll(list);
    }
    return together;
  }

  private static Path mainClasses() {
    try {
      Path amount = Path.of(Amount.class.getResource("Amount.class").toURI());
      return amount.getParent().getParent();
    } catch (URISyntaxException e) {
      throw new UncheckedIOException(new IOException(e));
    }
  }
}
