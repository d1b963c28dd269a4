import java.io.*; import java.util.*;
import org.verapdf.gf.foundry.VeraGreenfieldFoundryProvider;
import org.verapdf.pdfa.*;
import org.verapdf.pdfa.results.*;
import org.verapdf.pdfa.flavours.PDFAFlavour;
import org.verapdf.pdfa.validation.profiles.*;

/** Says of each PDF named on standard input whether it is PDF/A-2a and PDF/UA-1: one line for each failed check. */
public class PdfStandards {
    public static void main(String[] none) throws Exception {
        VeraGreenfieldFoundryProvider.initialise();
        Map<String, String> profiles = new LinkedHashMap<>();
        profiles.put("2a", "PDFA-2A");
        profiles.put("ua1", "PDFUA-1");
        BufferedReader names = new BufferedReader(new InputStreamReader(System.in, "UTF-8"));
        for (String name = names.readLine(); name != null; name = names.readLine()) {
            for (Map.Entry<String, String> each : profiles.entrySet()) {
                PDFAFlavour flavour = PDFAFlavour.fromString(each.getKey());
                ValidationProfile profile = Profiles.profileFromXml(
                    PdfStandards.class.getResourceAsStream("/org/verapdf/pdfa/validation/" + each.getValue() + ".xml"));
                try (PDFAParser parser = Foundries.defaultInstance().createParser(new FileInputStream(name), flavour);
                     PDFAValidator validator = Foundries.defaultInstance().createValidator(profile, false)) {
                    ValidationResult result = validator.validate(parser);
                    System.out.println(each.getValue() + "\t" + name + "\t" + result.isCompliant() + "\t" + result.getTotalAssertions());
                    for (TestAssertion check : result.getTestAssertions())
                        if (check.getStatus() == TestAssertion.Status.FAILED)
                            System.out.println("  " + check.getRuleId().getClause() + "-" + check.getRuleId().getTestNumber() + " " + check.getMessage());
                }
            }
        }
    }
}
