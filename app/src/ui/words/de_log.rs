//! Why lines of the shop log count for nothing, in German.

use trayzero_core::shop_log::WhyRefused;

/// Why a line of the shop log counts for nothing.
pub fn line_refused(why: WhyRefused) -> &'static str {
    match why {
        WhyRefused::FoundedOnce => "eine Werkstatt wird einmal gegründet",
        WhyRefused::OtherShop => "es ist die Zeile einer anderen Werkstatt",
        WhyRefused::NoMember => "das Tablet ist unter diesem Schlüssel kein Mitglied",
        WhyRefused::OtherKey => "sie ist nicht mit dem Schlüssel dieser Person unterschrieben",
        WhyRefused::NoForeman => "kein Meister hat sie unterschrieben",
        WhyRefused::NotTheirOwn => "das darf nur die Person selbst",
        WhyRefused::MemberAlready => "das Tablet ist schon Mitglied",
        WhyRefused::StruckKey => {
            "ein gestrichener Schlüssel kommt nicht zurück; das Tablet braucht einen neuen"
        }
        WhyRefused::TabletsFull => "die Werkstatt hat keinen Platz für noch ein Tablet",
        WhyRefused::MembersFile => "es ist die Datei eines Tablets der Werkstatt",
        WhyRefused::DismissedFull => "die Werkstatt hat so viele Dateien verworfen, wie sie kann",
        WhyRefused::NotMember => "das Tablet ist kein Mitglied",
        WhyRefused::TooManyPlaces => "sie nennt mehr Journale, als eine Zeile darf",
        WhyRefused::LastTablet => "es ist das letzte Tablet der Werkstatt",
        WhyRefused::TabletsKeyAgain => "das Tablet hat oder hatte diesen Schlüssel schon",
        WhyRefused::NameInUse => "den Namen gibt es schon",
        WhyRefused::PeopleFull => "die Werkstatt hat keinen Platz für noch eine Person",
        WhyRefused::PersonsKeyAgain => "jemand hat oder hatte diesen Schlüssel schon",
        WhyRefused::NoOldCode => {
            "die Person hat einen Schlüssel, oder keinen, den ein alter Code ergibt"
        }
        WhyRefused::Nobody => "niemand dieses Namens ist in der Werkstatt",
        WhyRefused::LastForeman => "es ist der letzte Meister mit einem Code",
        WhyRefused::NoName => "der Name kann keiner sein",
        WhyRefused::NoHex => "es sind nicht 64 Hexziffern",
    }
}
