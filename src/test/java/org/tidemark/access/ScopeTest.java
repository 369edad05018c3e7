package org.tidemark.access;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.EnumSet;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** SMART App Launch 2.2, "Scopes for requesting FHIR resources": the form of a scope. */
class ScopeTest {
  private static final List<Character> LETTERS = List.of('c', 'r', 'u', 'd', 's');

  /** Of all 3,905 words of up to five of the letters, the 31 that are in order are scopes. */
  @Test
  void case84TheLettersComeInTheirOrderAndEachOnce() {
    int scopes = 0;
    for (String word : words(5)) {
      Optional<Scope> scope = Scope.parse("user/Goal." + word);
      Set<Action> named = EnumSet.noneOf(Action.class);
      Arrays.stream(Action.values())
          .filter(action -> word.indexOf(action.letter()) >= 0)
          .forEach(named::add);
      String inOrder = named.stream().map(a -> "" + a.letter()).reduce("", String::concat);
      assertEquals(word.equals(inOrder), scope.isPresent(), word);
      scope.ifPresent(known -> assertEquals(named, known.actions(), word));
      scopes += scope.isPresent() ? 1 : 0;
    }
    assertEquals(31, scopes);
  }

  private static List<String> words(int longest) {
    List<String> all = new ArrayList<>();
    List<String> last = List.of("");
    for (int length = 1; length <= longest; length++) {
      last = last.stream().flatMap(word -> LETTERS.stream().map(letter -> word + letter)).toList();
      all.addAll(last);
    }
    return all;
  }

  /** "v1 .read ⇒ v2 .rs, v1 .write ⇒ v2 .cud, v1 .* ⇒ v2 .cruds". */
  @ParameterizedTest
  @CsvSource({"read, rs", "write, cud", "*, cruds"})
  void case84WordsOfVersion1MeanLetters(String word, String letters) {
    assertEquals(Scope.parse("patient/Flag." + letters), Scope.parse("patient/Flag." + word));
    assertEquals(Optional.empty(), Scope.parse("patient/Flag." + word + "?category=exam"));
  }

  @ParameterizedTest
  @ValueSource(
      strings = {
        "",
        "openid",
        "fhirUser",
        "launch/patient",
        "offline_access",
        "user/Goal",
        "user/Goal.",
        "user/Goal.dus",
        "user/Goal.Rs",
        "user/Goal.rs?",
        "user/Goal.rs?category",
        "user/Goal.rs?category=",
        "user/Goal.rs?=exam",
        "user/Goal.rs?code:in=http://x.example/ValueSet/y",
        "user/Goal.rs?patient.birthdate=1990",
        "user/Goal.rs?_filter=x",
        "user/Goal.rs?category=%zz",
        "user/Goal.rs?category=exam&",
        "user/goal.rs",
        "user/*Goal.rs",
        "practitioner/Goal.rs",
        "User/Goal.rs",
        " user/Goal.rs",
        "user/Goal.rs\n",
        "user/Goal.read.rs"
      })
  void whatIsNoScopeForRecordsGrantsNothing(String text) {
    assertEquals(Optional.empty(), Scope.parse(text));
  }

  @Test
  void conditionsAreSearchesDecoded() {
    assertEquals(
        List.of(
            new Scope.Condition("category", "http://x.example/c|exam"),
            new Scope.Condition("code", "a+b,c")),
        Scope.parse("patient/Observation.rs?category=http://x.example/c%7Cexam&code=a+b,c")
            .orElseThrow()
            .conditions());
  }
}
