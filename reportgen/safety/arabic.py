"""Words that call for a safety note, in Arabic (from memory; no native speaker has reviewed them yet).

They are written without the article and the particles that are joined to the front of words.
"""

from __future__ import annotations

from reportgen.safety.phrases import Phrases

#: What may be joined to the front of a word, as a pattern: and, so; in, to, like; the.
PREFIX = "[وف]?[بلك]?(?:ال|ل)?"
#: What people write where there is nothing to tell.
NOTHING = ("لا شيء", "لا يوجد", "لا", "لا توجد")
#: What the unit is called, and what is tilted or moved to look at the ice.
UNIT = Phrases(stems=("ثلاجة", "براد", "فريزر", "مجمد", "خزانة", "جهاز"))
ICE = Phrases(stems=("ثلج", "جليد", "صينية", "صواني", "زجاج", "قالب", "قوالب", "وعاء", "كوب", "كيس"))
WORDS = {
    "people-ill": Phrases(
        stems=(
            "مريض",
            "مرضى",
            "صداع",
            "دوار",
            "دوخة",
            "غثيان",
            "قيء",
            "تقيأ",
            "إغماء",
            "أغمي",
            "مغمى",
            "اختناق",
            "تسمم",
            "مستشفى",
            "إسعاف",
            "ضيق * تنفس",
            "فقد * وعي",
        ),
        words=("مرض", "مرضت", "مرضوا", "تعب", "وجع رأس", "ألم في الرأس"),
    ),
    "ammonia": Phrases(
        stems=(
            "أمونيا",
            "نشادر",
            "بقعة * صفراء",
            "بقع * صفراء",
            "مسحوق * أصفر",
            "ترسبات * صفراء",
            "طبقة * صفراء",
        ),
        not_in_appliance=("أمونيا", "نشادر"),
    ),
    "gas-smell": Phrases(
        stems=("رائحة", "روائح", "ريحة", "بيض فاسد", "نتن", "كريه"), words=("شم", "شممت", "شممنا", "نشم", "أشم")
    ),
    "leak-words": Phrases(
        stems=("هسيس", "فقدان * غاز", "فقد * غاز", "هروب * غاز", "خروج * غاز", "صفير"), roots=("تسرب", "تسريب", "تسربت")
    ),
    "flashback-words": Phrases(
        stems=("ارتداد * لهب", "ارتداد * شعلة", "رجوع * لهب", "ارتد * لهب", "ارتدت * شعلة", "فرقعة"),
        roots=("انفجر", "انفجار"),
    ),
    "soot-words": Phrases(
        stems=(
            "سخام",
            "دخان",
            "لهب * أصفر",
            "لهب * برتقالي",
            "شعلة * صفراء",
            "شعلة * برتقالية",
            "نار * صفراء",
        )
    ),
    "unattended-words": Phrases(
        stems=("دون مراقبة", "بدون مراقبة", "بلا مراقبة", "دون إشراف", "نائم", "غير مراقب"),
        words=("طوال الليل", "طول الليل", "لا أحد", "ليس هناك أحد", "إلى البيت", "إلى المنزل"),
    ),
    "tilt-words": Phrases(
        stems=("مائل", "إمالة", "مقلوب", "انقلب", "نقل", "تحريك", "غير مستو"), words=("على جانبه", "على جانبها")
    ),
    "medicine-words": Phrases(
        stems=("لقاح", "أنسولين", "دواء", "أدوية", "تطعيم", "مضاد * حيوي"), words=("طبي", "طبية")
    ),
    "children-words": Phrases(
        stems=("طفل", "أطفال", "تلميذ", "تلاميذ", "طلاب", "رضيع", "أولاد"), places=("مدرسة", "مدارس")
    ),
    "wind-words": Phrases(stems=("رياح", "عاصف", "نسيم", "تيار * هواء"), words=("ريح", "هبوب")),
    "electricity-words": Phrases(stems=("كهرب", "مقبس", "قابس", "فولت")),
    "maintenance-words": Phrases(
        stems=(
            *(f"{work} * هاضم" for work in ("فتح", "تنظيف", "تفريغ", "دخول", "دخل", "نظف", "أفرغ")),
            *("تنظيف * خزان", "تفريغ * خزان", "رفع * قبة", "رفع * جرس", "إزالة * حمأة"),
        )
    ),
    "condensate-words": Phrases(
        stems=("ماء * خرطوم", "ماء * أنبوب", "شعلة * متذبذب", "لهب * متذبذب"), roots=("تكثف", "تكاثف", "تكثيف")
    ),
    "eaten-words": Phrases(
        stems=("شرب", "مشروب", "عصير", "ليموناد", "مأكول", "سمك على ثلج"),
        words=("أكل", "أكلوا", "أكلنا", "يؤكل", "يشرب"),
    ),
    "glass-words": Phrases(
        stems=("مرطبان", "برطمان", "انكسر * زجاجة", "انفجر * زجاجة"), words=("زجاج", "زجاجي", "زجاجية")
    ),
    "disposal-words": Phrases(
        stems=("خردة", "تخلص * ثلاجة", "رمي * ثلاجة", "رمينا * ثلاجة", "مزلاج"), words=("قفل", "أقفال")
    ),
    "sulfur-feed-words": Phrases(stems=("لحم", "لحوم", "سمك", "أسماك", "بيض", "دجاج", "مسلخ", "أحشاء"), words=("دم",)),
}
